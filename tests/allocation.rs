//! No allocation inside the time loop: twice the steps, the same number of allocations.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;

use quenchway::line::Settings;
use quenchway::march::march_with;
use quenchway::units::Celsius;

/// The system's allocator, counting the calls of each thread.
pub struct Counting;

thread_local! {
    static CALLS: Cell<usize> = const { Cell::new(0) };
}

fn count() {
    // A thread that is going away has no counter any more; nothing is measured there.
    let _ = CALLS.try_with(|calls| calls.set(calls.get() + 1));
}

// SAFETY: every call is handed on unchanged to the system's allocator.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count();
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        unsafe { System.dealloc(pointer, layout) }
    }

    unsafe fn realloc(&self, pointer: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        count();
        unsafe { System.realloc(pointer, layout, size) }
    }
}

#[test]
fn steps_allocate_nothing() {
    let texts = [
        include_str!("../validation/benchmarks/P2.toml"),
        include_str!("../validation/benchmarks/P3.toml"),
        include_str!("../validation/benchmarks/P6.toml"),
    ];
    for text in texts {
        let mut case = quenchway::file::read(text).unwrap();
        // Something to watch: where each layer's skin sets and where it is set through.
        for layer in &mut case.layers {
            layer.material.set_temperature = Some(Celsius(80.0));
        }
        let calls = |step: f64| {
            let settings = Settings { fixed_step: Some(step), ..Settings::rule(0.01) };
            let before = CALLS.with(Cell::get);
            let (solution, run) = march_with(&case, &settings).unwrap();
            assert!(solution.skins.iter().any(|skin| skin.distance.is_some()), "{}: no skin was found", case.title);
            (CALLS.with(Cell::get) - before, run.steps[0])
        };
        // Tables of water and air are made once, by whoever comes first.
        calls(0.02);
        let ((few, fewer_steps), (many, more_steps)) = (calls(0.02), calls(0.005));
        assert!(more_steps > 3 * fewer_steps, "{fewer_steps} and {more_steps} steps");
        assert!(few > 0, "the counter does not count");
        assert_eq!(few, many, "{}: {fewer_steps} and {more_steps} steps", case.title);
    }
}
