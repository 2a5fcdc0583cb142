//! A small chart as SVG: axes, lines, squares, words. Marks of one colour are one path, so that thousands stay small.

use std::fmt::Write as _;

/// Width and height of a panel's plotting area.
const SIZE: [f64; 2] = [460.0, 400.0];
/// Room left of, above, right of and below it.
const MARGIN: [f64; 4] = [84.0, 48.0, 24.0, 64.0];
/// Colours that the colour-blind can tell apart (M. Okabe, K. Ito, Color Universal Design, 2002).
pub const COLOURS: [&str; 5] = ["#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9"];

/// One axis: what it measures, its ends, and whether it counts in decades.
#[derive(Clone, Copy, Debug)]
pub struct Axis {
    /// Quantity and unit.
    pub label: &'static str,
    /// Where it begins.
    pub low: f64,
    /// Where it ends.
    pub high: f64,
    /// Distance of its numbers; none where it counts in decades.
    pub tick: Option<f64>,
}

impl Axis {
    /// Share of the axis at which a value stands, held to its ends.
    fn share(&self, value: f64) -> f64 {
        let share = match self.tick {
            Some(_) => (value - self.low) / (self.high - self.low),
            None => (value.max(1e-300) / self.low).ln() / (self.high / self.low).ln(),
        };
        share.clamp(0.0, 1.0)
    }

    fn ticks(&self) -> Vec<f64> {
        match self.tick {
            Some(tick) => {
                let count = ((self.high - self.low) / tick + 1e-9) as usize;
                (0..=count).map(|i| self.low + i as f64 * tick).collect()
            }
            None => {
                let [low, high] = [self.low, self.high].map(|end| end.log10().round() as i32);
                (low..=high).map(|power| 10f64.powi(power)).collect()
            }
        }
    }

    fn number(&self, value: f64) -> String {
        match self.tick {
            Some(tick) if tick < 1.0 => format!("{value:.1}"),
            Some(_) => format!("{value:.0}"),
            None if (0.01..=1000.0).contains(&value) => format!("{value}"),
            None => format!("{value:e}"),
        }
    }
}

/// A panel that is being drawn.
#[derive(Clone, Debug)]
pub struct Panel {
    axes: [Axis; 2],
    body: String,
}

impl Panel {
    /// Title, grid and numbers.
    pub fn new(title: &str, x: Axis, y: Axis) -> Panel {
        let mut panel = Panel { axes: [x, y], body: String::new() };
        let (right, bottom) = (MARGIN[0] + SIZE[0], MARGIN[1] + SIZE[1]);
        for tick in x.ticks() {
            let [at, _] = panel.place([tick, y.low]);
            panel.write(format_args!("<path d=\"M{at:.1} {} V{bottom}\" stroke=\"#ddd\"/>", MARGIN[1]));
            panel.words([at, bottom + 22.0], "middle", "black", &x.number(tick));
        }
        for tick in y.ticks() {
            let [_, at] = panel.place([x.low, tick]);
            panel.write(format_args!("<path d=\"M{} {at:.1} H{right}\" stroke=\"#ddd\"/>", MARGIN[0]));
            panel.words([MARGIN[0] - 8.0, at + 5.0], "end", "black", &y.number(tick));
        }
        let (middle, centre) = (MARGIN[0] + 0.5 * SIZE[0], MARGIN[1] + 0.5 * SIZE[1]);
        panel.words([middle, 28.0], "middle", "black", title);
        panel.words([middle, bottom + 50.0], "middle", "black", x.label);
        panel.write(format_args!(
            "<text transform=\"translate(22 {centre}) rotate(-90)\" text-anchor=\"middle\">{}</text>",
            y.label
        ));
        panel
    }

    fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let shares = [self.axes[0].share(x), 1.0 - self.axes[1].share(y)];
        [MARGIN[0] + shares[0] * SIZE[0], MARGIN[1] + shares[1] * SIZE[1]]
    }

    fn write(&mut self, text: std::fmt::Arguments) {
        let _ = self.body.write_fmt(text);
        self.body.push('\n');
    }

    fn words(&mut self, [x, y]: [f64; 2], anchor: &str, colour: &str, text: &str) {
        self.write(format_args!(
            "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" fill=\"{colour}\">{text}</text>"
        ));
    }

    /// A line through points; `dashes` as SVG writes them, empty for a solid one.
    pub fn line(&mut self, points: impl IntoIterator<Item = [f64; 2]>, colour: &str, dashes: &str) {
        let mut path = String::new();
        for (index, point) in points.into_iter().enumerate() {
            let [x, y] = self.place(point);
            let _ = write!(path, "{}{x:.1} {y:.1}", if index == 0 { "M" } else { "L" });
        }
        let dashes = if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dashes}\"") };
        self.write(format_args!("<path d=\"{path}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"1.8\"{dashes}/>"));
    }

    /// Squares `size` wide at points, all one path.
    pub fn squares(&mut self, points: impl IntoIterator<Item = [f64; 2]>, size: f64, colour: &str, opacity: f64) {
        let mut path = String::new();
        for point in points {
            let [x, y] = self.place(point).map(|place| place - 0.5 * size);
            let _ = write!(path, "M{x:.1} {y:.1}h{size}v{size}h-{size}z");
        }
        self.write(format_args!("<path d=\"{path}\" fill=\"{colour}\" fill-opacity=\"{opacity}\"/>"));
    }

    /// Words beside a point.
    pub fn label(&mut self, point: [f64; 2], shift: [f64; 2], anchor: &str, colour: &str, text: &str) {
        let [x, y] = self.place(point);
        self.words([x + shift[0], y + shift[1]], anchor, colour, text);
    }
}

/// Panels side by side as one picture.
pub fn picture(panels: &[Panel]) -> String {
    let [width, height] = [SIZE[0] + MARGIN[0] + MARGIN[2], SIZE[1] + MARGIN[1] + MARGIN[3]];
    let all = width * panels.len() as f64;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {all} {height}\" font-family=\"sans-serif\" \
         font-size=\"16\">\n<rect width=\"{all}\" height=\"{height}\" fill=\"white\"/>\n"
    );
    for (index, panel) in panels.iter().enumerate() {
        let _ = writeln!(svg, "<g transform=\"translate({} 0)\">\n{}</g>", index as f64 * width, panel.body);
    }
    svg + "</svg>\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_stand_where_the_axes_say() {
        let x = Axis { label: "x", low: 0.0, high: 10.0, tick: Some(5.0) };
        let y = Axis { label: "y", low: 1e-2, high: 1e2, tick: None };
        assert_eq!((x.ticks(), y.ticks().len()), (vec![0.0, 5.0, 10.0], 5));
        let panel = Panel::new("", x, y);
        assert_eq!(panel.place([0.0, 1e-2]), [MARGIN[0], MARGIN[1] + SIZE[1]]);
        let [right, middle] = panel.place([10.0, 1.0]);
        assert!((right - MARGIN[0] - SIZE[0]).abs() < 1e-9 && (middle - MARGIN[1] - 0.5 * SIZE[1]).abs() < 1e-9);
        // What lies beyond an axis is drawn at its end.
        assert_eq!(panel.place([20.0, 1e9]), [MARGIN[0] + SIZE[0], MARGIN[1]]);
    }
}
