//! An answer as labelled numbers: dimensions, and variables along them, each with units and words. What results files and
//! xarray hold; a name may lie in a group, `stations/distance`.

/// What a variable is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Label<'a> {
    /// The variable's name.
    pub name: &'a str,
    /// UDUNITS spelling; `1` for a number without unit, empty for texts.
    pub units: &'a str,
    /// What it is, in words.
    pub long_name: &'a str,
    /// Whether a value may be absent, written as NaN.
    pub may_miss: bool,
}

impl<'a> Label<'a> {
    /// A variable whose every value is there.
    pub const fn new(name: &'a str, units: &'a str, long_name: &'a str) -> Label<'a> {
        Label { name, units, long_name, may_miss: false }
    }

    /// A variable some of whose values may be absent; only of numbers.
    pub const fn with_gaps(name: &'a str, units: &'a str, long_name: &'a str) -> Label<'a> {
        Label { name, units, long_name, may_miss: true }
    }
}

/// What holds for the whole answer: an attribute of a results file.
#[derive(Clone, Debug, PartialEq)]
pub enum Fact {
    /// A number.
    Number(f64),
    /// A count.
    Whole(i32),
    /// A text.
    Text(String),
}

impl From<f64> for Fact {
    fn from(number: f64) -> Fact {
        Fact::Number(number)
    }
}

impl From<usize> for Fact {
    fn from(count: usize) -> Fact {
        Fact::Whole(whole(count))
    }
}

impl From<String> for Fact {
    fn from(text: String) -> Fact {
        Fact::Text(text)
    }
}

impl From<&str> for Fact {
    fn from(text: &str) -> Fact {
        Fact::Text(text.to_string())
    }
}

/// The values of a variable, the last dimension running fastest.
#[derive(Clone, Debug, PartialEq)]
pub enum Values {
    /// Numbers; one that is absent is not a number.
    Numbers(Vec<f64>),
    /// Counts and indices.
    Wholes(Vec<i32>),
    /// Texts.
    Texts(Vec<String>),
}

impl Values {
    /// Counts or indices.
    pub fn wholes(values: impl IntoIterator<Item = usize>) -> Values {
        Values::Wholes(values.into_iter().map(whole).collect())
    }

    /// Texts.
    pub fn texts<T: Into<String>>(values: impl IntoIterator<Item = T>) -> Values {
        Values::Texts(values.into_iter().map(Into::into).collect())
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        match self {
            Values::Numbers(values) => values.len(),
            Values::Wholes(values) => values.len(),
            Values::Texts(values) => values.len(),
        }
    }
}

impl FromIterator<f64> for Values {
    fn from_iter<I: IntoIterator<Item = f64>>(values: I) -> Values {
        Values::Numbers(values.into_iter().collect())
    }
}

/// A dimension.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Its name.
    pub name: String,
    /// How many places it has.
    pub length: usize,
    /// Whether the variable of its own name is its coordinate; otherwise it has no numbers.
    pub has_coordinate: bool,
}

/// Numbers or texts along dimensions.
#[derive(Clone, Debug, PartialEq)]
pub struct Variable {
    /// Its name.
    pub name: String,
    /// UDUNITS spelling; `1` for a number without unit, empty for texts.
    pub units: String,
    /// What it is, in words.
    pub long_name: String,
    /// Whether a value may be absent, written as NaN.
    pub may_miss: bool,
    /// Indices of its dimensions in `axes`, slowest first; none for a single number.
    pub axes: Vec<usize>,
    /// Names of further variables of its group that label its places, separated by blanks.
    pub coordinates: String,
    /// Its values.
    pub values: Values,
}

/// An answer as labelled numbers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Data {
    /// What holds for the whole answer.
    pub facts: Vec<(String, Fact)>,
    /// The dimensions.
    pub axes: Vec<Axis>,
    /// What lies along them.
    pub variables: Vec<Variable>,
}

impl Data {
    /// Adds what holds for the whole answer.
    pub fn fact(&mut self, name: &str, fact: impl Into<Fact>) {
        self.facts.push((name.to_string(), fact.into()));
    }

    /// Adds a dimension that has a length and no numbers; answers its index.
    pub fn axis(&mut self, name: &str, length: usize) -> usize {
        self.axes.push(Axis { name: name.to_string(), length, has_coordinate: false });
        self.axes.len() - 1
    }

    /// Adds a dimension with its coordinate; answers its index.
    pub fn coordinate(&mut self, label: Label, values: Values) -> usize {
        self.axes.push(Axis { name: label.name.to_string(), length: values.count(), has_coordinate: true });
        let axis = self.axes.len() - 1;
        self.put(label, &[axis], "", values);
        axis
    }

    /// Adds numbers along dimensions; `coordinates` names further variables that label them (may be empty).
    pub fn put(&mut self, label: Label, axes: &[usize], coordinates: &str, values: Values) {
        let [name, units, long_name] = [label.name, label.units, label.long_name].map(str::to_string);
        let may_miss = label.may_miss;
        let (axes, coordinates) = (axes.to_vec(), coordinates.to_string());
        self.variables.push(Variable { name, units, long_name, may_miss, axes, coordinates, values });
    }

    /// Adds one text per place of a dimension.
    pub fn texts<T: Into<String>>(
        &mut self,
        name: &str,
        long_name: &str,
        axis: usize,
        texts: impl IntoIterator<Item = T>,
    ) {
        self.put(Label::new(name, "", long_name), &[axis], "", Values::texts(texts));
    }

    /// The lengths of a variable's dimensions; none where they are not those of its values.
    pub fn shape(&self, variable: &Variable) -> Option<Vec<usize>> {
        let shape: Vec<usize> =
            variable.axes.iter().map(|&axis| Some(self.axes.get(axis)?.length)).collect::<Option<_>>()?;
        (shape.iter().product::<usize>() == variable.values.count()).then_some(shape)
    }
}

/// A count as results files hold it; no mesh and no line comes near the limit.
fn whole(count: usize) -> i32 {
    i32::try_from(count).unwrap_or(i32::MAX)
}

/// A name without its group, and the group: `stations/distance` is `distance` in `stations`; the root has no name.
pub fn split(name: &str) -> (&str, &str) {
    name.rsplit_once('/').map_or(("", name), |(group, name)| (group, name))
}
