//! A picture's frame as SVG: two axes with ticks and numbers, curves, names; text is escaped by the macro.

use maud::{Markup, html};

/// Room around the plot, px: left, top, right, bottom.
const ROOM: [f64; 4] = [46.0, 24.0, 14.0, 42.0];
/// Width of a letter, px, as wide as they are at the pictures' type size.
pub const LETTER: f64 = 7.4;
/// Height of a line of text, px.
pub const LINE: f64 = 19.0;

/// A scale from values to places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
}

impl Scale {
    /// Over all finite values, with a share of the span as room at either end, drawn between two places.
    pub fn over(values: impl IntoIterator<Item = f64>, room: f64, [from, to]: [f64; 2]) -> Scale {
        let finite = values.into_iter().filter(|value| value.is_finite());
        let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
        let span = (high - low).max(1e-9 * high.abs()).max(1e-9);
        Scale { low: low - room * span, high: high + room * span, from, to }
    }

    /// Where a value lies, px.
    pub fn at(&self, value: f64) -> f64 {
        self.from + (value - self.low) / (self.high - self.low) * (self.to - self.from)
    }

    /// Round values, at most so many, as they are written.
    pub fn ticks(&self, most: usize) -> Vec<(f64, String)> {
        let step = crate::controls::round_step((self.high - self.low) / most.max(1) as f64);
        let decimals = (-step.log10().floor()).max(0.0) as usize;
        let first = (self.low / step - 1e-9).ceil();
        let tick = |count: usize| (first + count as f64) * step;
        let ticks = (0..=most).map(tick).take_while(|value| *value <= self.high + 1e-9 * step);
        // Plus zero: no minus sign on zero.
        ticks.map(|value| (value, format!("{:.decimals$}", value + 0.0))).collect()
    }
}

/// A curve: its class, which the page's style gives a colour and a dash, and its places in values.
pub struct Curve {
    /// Class of the style.
    pub class: &'static str,
    /// What it is called, and its value at the end.
    pub name: String,
    /// x and y values.
    pub points: Vec<[f64; 2]>,
}

/// A plot of some size.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    /// Of the whole picture, px.
    pub width: f64,
    /// Of the plot and what is around it, without the names of the curves below, px.
    pub height: f64,
    /// Rightward.
    pub x: Scale,
    /// Upward.
    pub y: Scale,
}

impl Frame {
    /// Over all these values.
    pub fn new(width: f64, xs: impl IntoIterator<Item = f64>, ys: impl IntoIterator<Item = f64>) -> Frame {
        let width = if width.is_finite() { width.clamp(260.0, 1400.0) } else { 720.0 };
        let height = (0.5 * width).clamp(230.0, 380.0);
        let x = Scale::over(xs, 0.0, [ROOM[0], width - ROOM[2]]);
        let y = Scale::over(ys, 0.05, [height - ROOM[3], ROOM[1]]);
        Frame { width, height, x, y }
    }

    /// Upper and lower edge of the plot, px.
    pub fn edges(&self) -> [f64; 2] {
        [ROOM[1], self.height - ROOM[3]]
    }

    /// Grid, ticks and the names of both axes.
    pub fn axes(&self, x_name: &str, y_name: &str) -> Markup {
        let [top, bottom] = self.edges();
        let (left, right) = (ROOM[0], self.width - ROOM[2]);
        html! {
            @for (value, text) in self.y.ticks(if self.height < 300.0 { 5 } else { 8 }) {
                @let y = px(self.y.at(value));
                line class="grid" x1=(px(left)) x2=(px(right)) y1=(y) y2=(y) {}
                text x=(px(left - 6.0)) y=(px(self.y.at(value) + 4.5)) text-anchor="end" { (text) }
            }
            @for (value, text) in self.x.ticks(((right - left) / 62.0) as usize) {
                @let x = px(self.x.at(value));
                line class="tick" x1=(x) x2=(x) y1=(px(bottom)) y2=(px(bottom + 5.0)) {}
                text x=(x) y=(px(bottom + 18.0)) text-anchor="middle" { (text) }
            }
            line class="axis" x1=(px(left)) x2=(px(right)) y1=(px(bottom)) y2=(px(bottom)) {}
            text x=(px((left + right) / 2.0)) y=(px(bottom + 36.0)) text-anchor="middle" { (x_name) }
            text x="4" y=(px(top - 8.0)) { (y_name) }
        }
    }

    /// A curve.
    pub fn curve(&self, class: &str, points: &[[f64; 2]]) -> Markup {
        html! { polyline class=(class) points=(self.places(points)) {} }
    }

    /// What lies between two curves of the same x values.
    pub fn veil(&self, class: &str, low: &[[f64; 2]], high: &[[f64; 2]]) -> Markup {
        let around: Vec<[f64; 2]> = low.iter().chain(high.iter().rev()).copied().collect();
        html! { polygon class=(class) points=(self.places(&around)) {} }
    }

    fn places(&self, points: &[[f64; 2]]) -> String {
        let seen = points.iter().filter(|[x, y]| x.is_finite() && y.is_finite());
        let mut places = seen.map(|&[x, y]| [self.x.at(x), self.y.at(y)]).peekable();
        let (mut text, mut last) = (String::new(), [f64::NEG_INFINITY; 2]);
        while let Some(place) = places.next() {
            // What lies within half a pixel of the last one is not seen, but for the end.
            let near = (place[0] - last[0]).abs() < 0.5 && (place[1] - last[1]).abs() < 0.5;
            if near && places.peek().is_some() {
                continue;
            }
            text += &format!("{},{} ", px(place[0]), px(place[1]));
            last = place;
        }
        text
    }

    /// A shaded part between two x values, with its name above where there is room for it.
    pub fn shade(&self, class: &str, [from, to]: [f64; 2], name: &str) -> Markup {
        let ([top, bottom], [left, right]) = (self.edges(), [self.x.at(from), self.x.at(to)]);
        let wide = name.chars().count() as f64 * LETTER < right - left;
        html! {
            rect class=(class) x=(px(left)) y=(px(top)) width=(px((right - left).max(0.0))) height=(px(bottom - top)) {}
            @if wide { text.name x=(px((left + right) / 2.0)) y=(px(top - 8.0)) text-anchor="middle" { (name) } }
        }
    }

    /// A level over the whole plot, with its words.
    pub fn level(&self, value: f64, words: &str) -> Markup {
        let (y, left, right) = (self.y.at(value), ROOM[0], self.width - ROOM[2]);
        html! {
            line.limit x1=(px(left)) x2=(px(right)) y1=(px(y)) y2=(px(y)) {}
            text.limit x=(px(right)) y=(px(y - 5.0)) text-anchor="end" { (words) }
        }
    }

    /// The curves' names with a piece of each, in rows below the plot; and how high the whole picture is.
    pub fn names(&self, curves: &[(&str, String)]) -> (Markup, f64) {
        let (mut left, mut y) = (ROOM[0], self.height + 10.0);
        let mut places = Vec::new();
        for (class, name) in curves {
            let wide = 34.0 + name.chars().count() as f64 * LETTER + 18.0;
            if left > ROOM[0] && left + wide > self.width {
                (left, y) = (ROOM[0], y + LINE);
            }
            places.push((*class, name, left, y));
            left += wide;
        }
        let markup = html! {
            @for (class, name, x, y) in &places {
                line class=(class) x1=(px(*x)) x2=(px(x + 28.0)) y1=(px(y - 4.5)) y2=(px(y - 4.5)) {}
                text x=(px(x + 34.0)) y=(px(*y)) { (name) }
            }
        };
        (markup, y + 10.0)
    }

    /// The whole picture; `told` says in words what it shows.
    pub fn svg(&self, height: f64, told: &str, inside: &Markup) -> String {
        let size = format!("0 0 {} {}", px(self.width), px(height));
        let svg = html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox=(size) width=(px(self.width)) height=(px(height)) role="img"
                aria-label=(told) { (inside) }
        };
        svg.into_string()
    }
}

/// A place to a tenth of a pixel.
pub fn px(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or_else(|| text.clone(), str::to_string)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_few() {
        let texts = |low: f64, high: f64, most| {
            let ticks = Scale::over([low, high], 0.0, [0.0, 100.0]).ticks(most);
            ticks.into_iter().map(|(_, text)| text).collect::<Vec<_>>()
        };
        assert_eq!(texts(0.0, 19.9, 10), ["0", "2", "4", "6", "8", "10", "12", "14", "16", "18"]);
        assert_eq!(texts(-3.0, 197.0, 5), ["0", "50", "100", "150"]);
        assert_eq!(texts(0.0, 0.0017, 5), ["0.0000", "0.0005", "0.0010", "0.0015"]);
        assert!(texts(5.0, 5.0, 4).len() <= 5);
    }

    #[test]
    fn points_that_are_not_seen_are_left_out() {
        let frame = Frame::new(446.0, [0.0, 386.0], [0.0, 1.0]);
        let points: Vec<[f64; 2]> = (0..=38600).map(|x| [f64::from(x) / 100.0, 0.5]).collect();
        let places = frame.places(&points);
        let count = places.split_whitespace().count();
        assert!((380..=775).contains(&count), "{count}");
        assert!(places.starts_with("46,") && places.trim_end().contains(" 432,"), "both ends are there");
    }

    #[test]
    fn names_are_escaped() {
        let frame = Frame::new(400.0, [0.0, 1.0], [0.0, 1.0]);
        let svg = frame.svg(300.0, "\"><script>", &frame.shade("water", [0.0, 1.0], "<img src=x>"));
        assert!(!svg.contains("<img") && !svg.contains("<script") && svg.contains("&lt;img src=x&gt;"));
    }
}
