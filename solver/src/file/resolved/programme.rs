//! What a line does over time: changes of speed, accumulators, changes of reel.

use super::writer::Writer;
use crate::case::programme::{Full, Programme, Ramp};
use crate::units::Dimension;
use crate::units::hidden::quoted as text;

impl Writer {
    /// What a programme adds to `[line]`.
    pub(super) fn changes(&mut self, programme: &Programme) {
        self.values(&[("starts_at", programme.starts_at, Dimension::Speed)]);
        if programme.starts_empty {
            self.key("starts_empty", true);
        }
        if programme.crosshead > 0.0 {
            self.value("crosshead", programme.crosshead, Dimension::Length);
        }
        for change in &programme.changes {
            self.head("[[line.change]]");
            self.key("name", text(&change.name));
            self.value("after", change.after, Dimension::Time);
            self.value("to", change.to, Dimension::Speed);
            match change.ramp {
                Ramp::Within(duration) => self.value("within", duration, Dimension::Time),
                Ramp::Even(acceleration) => self.value("rate", acceleration, Dimension::Acceleration),
                Ramp::Percent(rate) => self.value("rate", rate, Dimension::Rate),
            }
            self.values(&[("hold", change.hold, Dimension::Time)]);
        }
    }

    /// Accumulators and changes of reel.
    pub(super) fn reels(&mut self, programme: &Programme) {
        for accumulator in &programme.accumulators {
            self.head("[[accumulator]]");
            self.key("name", text(&accumulator.name));
            self.key("place", text(accumulator.place.name()));
            self.value("capacity", accumulator.capacity, Dimension::Length);
            self.value("content", accumulator.content, Dimension::Length);
            self.value("reserve", accumulator.reserve, Dimension::Length);
            let (full, brake) = match accumulator.full {
                Full::Report => ("report", None),
                Full::Slow(brake) => ("slow", Some(brake)),
                Full::Stop(brake) => ("stop", Some(brake)),
            };
            self.key("full", text(full));
            self.values(&[("brake", brake, Dimension::Acceleration)]);
        }
        for change in &programme.reel_changes {
            self.head("[[reel_change]]");
            let bridge = programme.accumulators.get(change.accumulator);
            self.key("accumulator", text(bridge.map_or("", |accumulator| accumulator.name.as_str())));
            for (key, value) in
                [("at", change.at), ("brake", change.brake), ("standstill", change.standstill), ("start", change.start)]
            {
                self.value(key, value, Dimension::Time);
            }
            self.key("catch_up", change.catch_up);
        }
    }
}
