//! The door of the engine in a browser: room for a text, open a case with it or answer a wish of it, read what came out.

use std::cell::RefCell;

use crate::Opened;

#[derive(Default)]
struct Door {
    input: Vec<u8>,
    output: String,
    opened: Option<Opened>,
}

thread_local! {
    static DOOR: RefCell<Door> = RefCell::default();
}

/// Room for a text of so many bytes; where it begins.
#[unsafe(no_mangle)]
pub extern "C" fn room(bytes: usize) -> *mut u8 {
    DOOR.with_borrow_mut(|door| {
        door.input.clear();
        door.input.resize(bytes, 0);
        door.input.as_mut_ptr()
    })
}

/// Opens the case file that was written into the room; how many bytes of JSON came out.
#[unsafe(no_mangle)]
pub extern "C" fn open() -> usize {
    DOOR.with_borrow_mut(|door| {
        let (opened, said) = Opened::open(&String::from_utf8_lossy(&door.input));
        (door.opened, door.output) = (opened, said);
        door.output.len()
    })
}

/// Answers the wish that was written into the room; how many bytes of JSON came out.
#[unsafe(no_mangle)]
pub extern "C" fn answer() -> usize {
    DOOR.with_borrow_mut(|door| {
        let wish = String::from_utf8_lossy(&door.input);
        door.output = match &mut door.opened {
            Some(opened) => opened.answer(&wish),
            None => crate::wish::wrong("no case is open"),
        };
        door.output.len()
    })
}

/// Where what came out begins.
#[unsafe(no_mangle)]
pub extern "C" fn out() -> *const u8 {
    DOOR.with_borrow(|door| door.output.as_ptr())
}
