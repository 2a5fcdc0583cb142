//! The tables of a case file: where a key may stand.

/// A table of the case file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// The top level.
    Root,
    /// `[line]`.
    Line,
    /// `[[line.change]]`.
    Change,
    /// `[[layer]]`.
    Layer,
    /// The lag of a melt's output.
    Output,
    /// Insulated conductors laid up, as the first layer.
    Core,
    /// `[[section]]`.
    Section,
    /// `[[station]]`.
    Station,
    /// `[[accumulator]]`.
    Accumulator,
    /// `[[reel_change]]`.
    ReelChange,
    /// `[material.NAME]`.
    Material,
    /// `[plant]`.
    Plant,
    /// `[stages]`.
    Stages,
    /// A number that `stages` may set.
    Ranged,
    /// The prices of `stages`.
    Prices,
    /// `[solver]`.
    Solver,
    /// A die temperature against line speed.
    SpeedTable,
    /// A film coefficient against surface temperature or distance.
    FilmTable,
    /// A material property with its source.
    Property,
    /// How well the properties of a material are known.
    Uncertainty,
    /// The top level of a study file.
    Study,
}

impl Place {
    /// All of a case file, in its order.
    pub(crate) const ALL: [Place; 20] = [
        Place::Root,
        Place::Line,
        Place::Change,
        Place::Layer,
        Place::Output,
        Place::Core,
        Place::Section,
        Place::Station,
        Place::Accumulator,
        Place::ReelChange,
        Place::Material,
        Place::Plant,
        Place::Stages,
        Place::Ranged,
        Place::Prices,
        Place::Solver,
        Place::SpeedTable,
        Place::FilmTable,
        Place::Property,
        Place::Uncertainty,
    ];

    /// Its name in a message: "a layer".
    pub(crate) fn name(self) -> &'static str {
        match self {
            Place::Root => "a case file",
            Place::Line => "[line]",
            Place::Change => "a change of the line",
            Place::Layer => "a layer",
            Place::Output => "an output that lags",
            Place::Core => "a laid-up core",
            Place::Section => "a section",
            Place::Station => "a station",
            Place::Accumulator => "an accumulator",
            Place::ReelChange => "a change of reel",
            Place::Material => "a material",
            Place::Plant => "[plant]",
            Place::Stages => "[stages]",
            Place::Ranged => "a number of [stages.vary]",
            Place::Prices => "[stages.cost]",
            Place::Solver => "[solver]",
            Place::SpeedTable => "a temperature table",
            Place::FilmTable => "a film table",
            Place::Property => "a material property",
            Place::Uncertainty => "an uncertainty table",
            Place::Study => "a study file",
        }
    }
}
