//! What the line does over time, as the case file says it: changes of speed, accumulators, changes of reel.
//!
//! A `run` looks at none of this. How it moves the line is worked out in [`crate::line`].

/// The programme of a line; the default one holds `line.speed` for ever.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Programme {
    /// Line speed before the first change, m/s; none: the line speed of the case.
    pub starts_at: Option<f64>,
    /// Whether the line holds nothing when the programme begins: only what leaves the die from then on exists.
    pub starts_empty: bool,
    /// Conductor between preheater and die, m: what stands there in a stop is scrap.
    pub crosshead: f64,
    /// Changes of the line speed, in order.
    pub changes: Vec<Change>,
    /// Stores of product at the ends of the line.
    pub accumulators: Vec<Accumulator>,
    /// Changes of reel, in order.
    pub reel_changes: Vec<ReelChange>,
}

impl Programme {
    /// Whether anything changes.
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty() && self.reel_changes.is_empty()
    }

    /// Product that leaves the die in the changes of speed, m, on a line that begins at `first`, m/s.
    pub fn travelled(&self, first: f64) -> f64 {
        let mut from = first;
        let lengths = self.changes.iter().map(|change| {
            let Change { after, to, ramp, hold, .. } = *change;
            let mean = match ramp {
                Ramp::Percent(_) if to != from => (to - from) / libm::log(to / from),
                _ => 0.5 * (from + to),
            };
            let length = from * after + mean * ramp.duration(from, to) + to * hold.unwrap_or(0.0);
            from = to;
            length
        });
        lengths.sum()
    }
}

/// A change of the line speed.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What reports call it.
    pub name: String,
    /// Time at the old speed first, s.
    pub after: f64,
    /// The new speed, m/s.
    pub to: f64,
    /// How it is reached.
    pub ramp: Ramp,
    /// Time at the new speed, s; none: until what leaves the die at the end of the ramp has left the line.
    pub hold: Option<f64>,
}

/// How a speed is reached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ramp {
    /// Evenly within so many s; 0: a jump.
    Within(f64),
    /// By so many m/s2, up or down.
    Even(f64),
    /// By so much of itself a second, 1/s, up or down.
    Percent(f64),
}

impl Ramp {
    /// How long it takes from one speed to another, s; infinite for a ramp in percents from or to a standstill.
    pub fn duration(self, from: f64, to: f64) -> f64 {
        match self {
            _ if from == to => {
                if let Ramp::Within(duration) = self {
                    duration
                } else {
                    0.0
                }
            }
            Ramp::Within(duration) => duration,
            Ramp::Even(acceleration) => (to - from).abs() / acceleration,
            Ramp::Percent(rate) if from > 0.0 && to > 0.0 => libm::log(to / from).abs() / rate,
            Ramp::Percent(_) => f64::INFINITY,
        }
    }
}

/// A store of product between line and reel.
#[derive(Clone, Debug, PartialEq)]
pub struct Accumulator {
    /// What reports call it.
    pub name: String,
    /// At which end of the line.
    pub place: End,
    /// Length of product that it holds, m.
    pub capacity: f64,
    /// At the start, and what it returns to, m.
    pub content: f64,
    /// Never used, m: free at the exit, filled at the entry.
    pub reserve: f64,
    /// What the line does when it is full (at the entry: empty).
    pub full: Full,
}

/// An end of the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum End {
    /// Before the take-up.
    Exit,
    /// Behind the pay-off.
    Entry,
}

impl End {
    /// The word of the case file.
    pub fn name(self) -> &'static str {
        match self {
            End::Exit => "exit",
            End::Entry => "entry",
        }
    }
}

/// What the line does when an accumulator has no room left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Full {
    /// Nothing; it is reported.
    Report,
    /// Brakes by so many m/s2, as late as is possible, to the speed of the reel.
    Slow(f64),
    /// The same to a standstill; it starts again when the content is back.
    Stop(f64),
}

/// A change of reel at an accumulator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReelChange {
    /// Index of the accumulator.
    pub accumulator: usize,
    /// When the reel begins to brake, s from the start of the programme.
    pub at: f64,
    /// s.
    pub brake: f64,
    /// s.
    pub standstill: f64,
    /// s, from standstill to the line speed and `catch_up` more.
    pub start: f64,
    /// By what share the reel then runs faster than the line, until the content is back.
    pub catch_up: f64,
}

/// How the output of a melt goes with the line speed, and its way to the die.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Feed {
    /// Output against line speed.
    pub output: Output,
    /// Melt between screw and die, m3.
    pub head_volume: Option<f64>,
    /// Longest time that it may stay there, s.
    pub residence_max: Option<f64>,
}

/// Output of a melt against line speed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Output {
    /// In proportion, at every moment: the size at the die stays.
    #[default]
    Follows,
    /// That of the case's line speed, whatever the line does.
    Constant,
    /// In proportion behind a lag of first order, s.
    Lag(f64),
}
