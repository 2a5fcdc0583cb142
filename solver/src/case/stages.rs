//! What `stages` looks for: an aim, the numbers that it may set, what must hold.

/// What a search for the best trough is told.
#[derive(Clone, Debug, PartialEq)]
pub struct Stages {
    /// What is to be best.
    pub aim: Aim,
    /// The numbers that it may set, in the order in which they are set: 1 to 6.
    pub vary: Vec<Ranged>,
    /// Index of the section that takes what the others leave of the length of the line, and that length from the die, m.
    pub rest: Option<Rest>,
    /// What stays to spare below every limit of a station.
    pub margin: Margin,
    /// What must hold beside the limits of the stations and the ceilings of the plant.
    pub limits: Vec<Maximum>,
    /// The user's prices; none where the case has none.
    pub prices: Option<Prices>,
}

/// What is to be best.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aim {
    /// The fastest line.
    Fastest,
    /// The least length of sections with water, each counted once however often it is passed.
    Shortest,
    /// The least melt that is still to shrink under a set skin.
    LeastVoid,
    /// The least money an hour, by the user's prices.
    Cheapest,
}

impl Aim {
    /// All of them, in the order of the key table's words.
    pub const ALL: [Aim; 4] = [Aim::Fastest, Aim::Shortest, Aim::LeastVoid, Aim::Cheapest];

    /// The word of the case file.
    pub fn word(self) -> &'static str {
        match self {
            Aim::Fastest => "fastest",
            Aim::Shortest => "shortest",
            Aim::LeastVoid => "least-void",
            Aim::Cheapest => "cheapest",
        }
    }
}

/// A number that the search may set.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranged {
    /// Its key path.
    pub input: String,
    /// Lowest value, SI.
    pub low: f64,
    /// Highest value, SI.
    pub high: f64,
    /// What it goes in steps of, SI (temperatures K); none: it takes any value. A length is a whole multiple of its step, other
    /// numbers go in steps from the low end.
    pub step: Option<f64>,
}

/// The section that takes what the others leave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest {
    /// Index of the section.
    pub section: usize,
    /// Length of the line from the die to its end, m.
    pub line_length: f64,
}

/// What stays to spare below every limit of a station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Margin {
    /// So many K.
    Kelvin(f64),
    /// As much as the uncertainty of the inputs may add.
    Band,
}

/// The most that an output may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Maximum {
    /// Name of the output.
    pub output: String,
    /// The most, SI (temperatures degC, shares percent).
    pub max: f64,
}

/// Prices in the user's money, SI; 0 where the case does not say.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Prices {
    /// Of the heat that the chiller removes, money a joule.
    pub chiller: f64,
    /// Of the heat that warms the water and the conductor, money a joule.
    pub heating: f64,
    /// Of a metre of trough, money a second.
    pub metre: f64,
    /// What a line is worth that runs 1 m/s faster, money a second.
    pub speed_worth: f64,
}

impl Prices {
    /// Money a second of a line that gives `chiller` W to the chiller, takes `heating` W, has `metres` m of trough and runs at
    /// `speed` m/s.
    ///
    /// ```
    /// use quenchway::case::Prices;
    /// let prices = Prices { chiller: 2e-8, heating: 0.0, metre: 1e-4, speed_worth: 1e-2 };
    /// assert!((prices.cost([3e4, 0.0], 20.0, 0.5) - (6e-4 + 2e-3 - 5e-3)).abs() < 1e-15);
    /// ```
    pub fn cost(&self, [chiller, heating]: [f64; 2], metres: f64, speed: f64) -> f64 {
        self.chiller * chiller + self.heating * heating + self.metre * metres - self.speed_worth * speed
    }
}
