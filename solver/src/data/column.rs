//! Tables of rows as labelled numbers: a column is said once, with name, unit and words.

use super::{Data, Fact, Label, Values};

/// A number that is told of every row of a table.
pub struct Column<R: 'static> {
    /// What it is; it may be absent.
    pub label: Label<'static>,
    /// Its value, SI, temperatures degC; not a number where it is absent.
    pub value: fn(&R) -> f64,
}

/// A column by name, unit in UDUNITS spelling, words and value.
pub const fn column<R>(
    name: &'static str,
    units: &'static str,
    words: &'static str,
    value: fn(&R) -> f64,
) -> Column<R> {
    Column { label: Label::with_gaps(name, units, words), value }
}

impl Data {
    /// An answer that is read with these cautions for the plant floor.
    pub fn with_cautions(cautions: &[String]) -> Data {
        let mut data = Data::default();
        data.fact("cautions", cautions.join("\n"));
        data
    }

    /// Adds a number that holds for the whole answer; without a value nothing.
    pub fn number(&mut self, name: &str, value: impl Into<Option<f64>>) -> &mut Data {
        if let Some(value) = value.into() {
            self.fact(name, value);
        }
        self
    }

    /// Adds a text that holds for the whole answer; without a value nothing.
    pub fn text(&mut self, name: &str, value: impl Into<Option<String>>) -> &mut Data {
        if let Some(value) = value.into() {
            self.fact(name, value);
        }
        self
    }

    /// A text that holds for the whole answer; empty where there is none of this name.
    pub fn text_of(&self, name: &str) -> &str {
        let mut texts = self.facts.iter().filter_map(|(known, fact)| match fact {
            Fact::Text(text) if known == name => Some(text.as_str()),
            _ => None,
        });
        texts.next_back().unwrap_or_default()
    }

    /// Adds a dimension with numbers as its coordinate; answers its index.
    pub fn scale(&mut self, name: &str, units: &str, words: &str, values: Vec<f64>) -> usize {
        self.coordinate(Label::new(name, units, words), Values::Numbers(values))
    }

    /// Adds a dimension of named things and their names, `NAME_name`; answers its index.
    pub fn names<S: Into<String>>(&mut self, name: &str, words: &str, names: impl IntoIterator<Item = S>) -> usize {
        let names: Vec<String> = names.into_iter().map(Into::into).collect();
        let axis = self.axis(name, names.len());
        self.texts(&format!("{name}_name"), words, axis, names);
        axis
    }

    /// Adds numbers along dimensions, labelled by the names of those that have names; any may be absent.
    pub fn numbers(&mut self, name: &str, units: &str, words: &str, axes: &[usize], values: Vec<f64>) {
        let named = axes.iter().filter_map(|&axis| self.axes.get(axis)).filter(|axis| !axis.has_coordinate);
        let coordinates: Vec<String> = named.map(|axis| format!("{}_name", axis.name)).collect();
        self.put(Label::with_gaps(name, units, words), axes, &coordinates.join(" "), Values::Numbers(values));
    }

    /// Adds every column of the rows that lie along one dimension.
    ///
    /// ```
    /// use quenchway::data::{Column, Data, Values, column};
    /// static HALVES: [Column<f64>; 1] = [column("half", "m", "half of it", |length| 0.5 * length)];
    /// let mut data = Data::default();
    /// let piece = data.names("piece", "which piece", ["first", "second"]);
    /// data.along(piece, &[1.0, 3.0], &HALVES);
    /// let half = &data.variables[1];
    /// assert_eq!((half.name.as_str(), half.coordinates.as_str()), ("half", "piece_name"));
    /// assert_eq!(half.values, Values::Numbers(vec![0.5, 1.5]));
    /// ```
    pub fn along<'r, R: 'static>(
        &mut self,
        axis: usize,
        rows: impl IntoIterator<Item = &'r R> + Clone,
        columns: &[Column<R>],
    ) {
        for Column { label, value } in columns {
            let values = rows.clone().into_iter().map(value).collect();
            self.numbers(label.name, label.units, label.long_name, &[axis], values);
        }
    }
}

/// A name that readers of HDF5 take as that of a variable: letters, digits and underscores.
pub fn plain(name: &str) -> String {
    let kept = name.chars().filter(|c| *c != '"').map(|c| if c.is_ascii_alphanumeric() { c } else { '_' });
    kept.collect()
}
