//! A picture as a PNG file that says what made it and what to be careful of.

use std::io::{BufRead, Seek};

use super::PlotError;

/// The keyword under which a PNG names its program; pictures that carry ours may be replaced.
const SOFTWARE: &str = "Software";

/// What the file says in words beside its pixels.
pub struct Words {
    /// The program and its version.
    pub program: &'static str,
    /// The picture's title.
    pub title: String,
    /// What it shows.
    pub description: String,
    /// What must be kept in mind on the plant floor.
    pub warning: String,
}

/// A picture of red, green and blue bytes, row by row, as the bytes of a PNG file; `size` is width and height.
pub fn encode(rgb: &[u8], size: [u32; 2], words: &Words) -> Result<Vec<u8>, PlotError> {
    bytes(rgb, size, words).map_err(|error| PlotError(error.to_string()))
}

fn bytes(rgb: &[u8], [width, height]: [u32; 2], words: &Words) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    // Half the time of the library's usual setting for a file one eighth larger.
    encoder.set_deflate_compression(png::DeflateCompression::Level(2));
    encoder.set_filter(png::Filter::Up);
    encoder.add_text_chunk(SOFTWARE.to_string(), words.program.to_string())?;
    for (keyword, text) in [("Title", &words.title), ("Description", &words.description), ("Warning", &words.warning)] {
        encoder.add_itxt_chunk(keyword.to_string(), text.clone())?;
    }
    let mut writer = encoder.write_header()?;
    writer.write_image_data(rgb)?;
    writer.finish()?;
    Ok(bytes)
}

/// Whether a file is a picture that this program drew.
pub fn is_ours(file: impl BufRead + Seek) -> bool {
    let Ok(reader) = png::Decoder::new(file).read_info() else { return false };
    reader
        .info()
        .uncompressed_latin1_text
        .iter()
        .any(|chunk| chunk.keyword == SOFTWARE && chunk.text.starts_with("quenchway "))
}
