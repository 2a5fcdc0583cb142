//! A picture read back from its PNG file, for the tests that count pixels.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

/// Red, green and blue of every pixel, row by row.
pub struct Picture {
    pub size: [u32; 2],
    pub pixels: Vec<[u8; 3]>,
}

impl Picture {
    pub fn open(path: impl AsRef<Path>) -> Picture {
        let mut reader = png::Decoder::new(BufReader::new(File::open(path).unwrap())).read_info().unwrap();
        let mut bytes = vec![0; reader.output_buffer_size().unwrap()];
        let frame = reader.next_frame(&mut bytes).unwrap();
        assert_eq!((frame.color_type, frame.bit_depth), (png::ColorType::Rgb, png::BitDepth::Eight));
        let pixels = bytes.chunks_exact(3).map(|rgb| [rgb[0], rgb[1], rgb[2]]).collect();
        Picture { size: [frame.width, frame.height], pixels }
    }

    pub fn at(&self, x: u32, y: u32) -> [u8; 3] {
        self.pixels[(y * self.size[0] + x) as usize]
    }
}
