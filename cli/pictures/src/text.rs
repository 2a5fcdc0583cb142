//! Words on a picture: fonts, how wide a text is, wrapping, shortening, and the dots of its letters.

use std::sync::LazyLock;

use ab_glyph::{Font, FontRef, Glyph, PxScale, ScaleFont, point};

use super::PlotError;

/// Weight of the letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Running text.
    Regular,
    /// Titles and names of stations.
    Bold,
}

/// Height of a capital letter, em (DejaVu Sans).
pub const CAPITAL: f64 = 0.73;

static REGULAR: LazyLock<Option<FontRef<'static>>> =
    LazyLock::new(|| FontRef::try_from_slice(dejavu::sans::regular()).ok());
static BOLD: LazyLock<Option<FontRef<'static>>> = LazyLock::new(|| FontRef::try_from_slice(dejavu::sans::bold()).ok());

fn font(weight: Weight) -> Result<&'static FontRef<'static>, PlotError> {
    let font = match weight {
        Weight::Regular => &*REGULAR,
        Weight::Bold => &*BOLD,
    };
    font.as_ref().ok_or_else(|| PlotError("the built-in font cannot be read".to_string()))
}

/// Glyphs of a line of text from the origin rightward, and its width; `size` in px per em.
fn set(text: &str, size: f64, weight: Weight) -> Result<(Vec<Glyph>, f64), PlotError> {
    let font = font(weight)?;
    let em = font.units_per_em().unwrap_or(2048.0);
    // The library scales by ascent minus descent, typography by the em.
    let font = font.as_scaled(PxScale::from(size as f32 * font.height_unscaled() / em));
    let mut glyphs: Vec<Glyph> = Vec::with_capacity(text.len());
    let mut x = 0.0;
    for c in text.chars() {
        let mut glyph = font.scaled_glyph(c);
        if let Some(before) = glyphs.last() {
            x += font.kern(before.id, glyph.id);
        }
        glyph.position = point(x, 0.0);
        x += font.h_advance(glyph.id);
        glyphs.push(glyph);
    }
    Ok((glyphs, f64::from(x)))
}

/// Width of a line of text, px; `size` in px per em.
pub fn width(text: &str, size: f64, weight: Weight) -> Result<f64, PlotError> {
    Ok(set(text, size, weight)?.1)
}

/// Calls `dot(x, y, coverage)` for each covered pixel of a text whose baseline begins at `origin`, px; y downward.
pub fn dots(
    text: &str,
    origin: [f64; 2],
    size: f64,
    weight: Weight,
    mut dot: impl FnMut(i32, i32, f64),
) -> Result<(), PlotError> {
    let font = font(weight)?;
    let origin = point(origin[0] as f32, origin[1] as f32);
    for mut glyph in set(text, size, weight)?.0 {
        glyph.position += origin;
        let Some(outline) = font.outline_glyph(glyph) else { continue };
        let corner = outline.px_bounds().min;
        outline.draw(|x, y, coverage| {
            if coverage > 0.0 {
                dot(corner.x as i32 + x as i32, corner.y as i32 + y as i32, f64::from(coverage.min(1.0)));
            }
        });
    }
    Ok(())
}

/// One line without control characters, so that no name can break a picture.
pub fn clean(text: &str) -> String {
    quenchway_words::clean(text).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The text, shortened in its middle with an ellipsis until it fits.
pub fn fit(text: &str, size: f64, weight: Weight, room: f64) -> Result<String, PlotError> {
    if width(text, size, weight)? <= room {
        return Ok(text.to_string());
    }
    let letters: Vec<char> = text.chars().collect();
    for kept in (1..letters.len()).rev() {
        let (head, tail) = (kept.div_ceil(2), kept / 2);
        let start: String = letters[..head].iter().collect();
        let end: String = letters[letters.len() - tail..].iter().collect();
        let short = format!("{}…{}", start.trim_end(), end.trim_start());
        if width(&short, size, weight)? <= room {
            return Ok(short);
        }
    }
    Ok("…".to_string())
}

/// The text broken at blanks into at most `lines` lines that fit; the last one is shortened where it must be.
pub fn wrap(text: &str, size: f64, weight: Weight, room: f64, lines: usize) -> Result<Vec<String>, PlotError> {
    let mut wrapped: Vec<String> = Vec::new();
    let mut words = text.split(' ').peekable();
    while words.peek().is_some() {
        if wrapped.len() + 1 >= lines {
            let rest: Vec<&str> = words.collect();
            wrapped.push(fit(&rest.join(" "), size, weight, room)?);
            break;
        }
        let mut line = words.next().unwrap_or_default().to_string();
        while let Some(word) = words.peek() {
            let longer = format!("{line} {word}");
            if width(&longer, size, weight)? > room {
                break;
            }
            line = longer;
            words.next();
        }
        wrapped.push(fit(&line, size, weight, room)?);
    }
    Ok(wrapped)
}
