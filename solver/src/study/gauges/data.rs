//! The gauges as labelled numbers.

use super::{AtSpeed, Gauge, Gauges};
use crate::data::{Column, Data, column};

static GAUGE: [Column<Gauge>; 8] = [
    column("distance", "m", "distance from the die", |gauge| gauge.distance),
    column("time", "s", "time since the die", |gauge| gauge.time),
    column("reading", "m", "diameter that the gauge reads", |gauge| gauge.reading),
    column("reading_low", "m", "lowest reading, the outer layer held or free", |gauge| gauge.range[0]),
    column("reading_high", "m", "highest reading, the outer layer held or free", |gauge| gauge.range[1]),
    column("over_finished", "m", "reading less the diameter at 23 degC", |gauge| gauge.over_finished),
    column("surface_temperature", "degC", "surface temperature", |gauge| gauge.surface),
    column("mean_temperature", "degC", "mean temperature of the plastic", |gauge| gauge.mean),
];

static AT_SPEED: [Column<AtSpeed>; 4] = [
    column("diameter_at_die", "m", "diameter at the die, the output of compound constant", |row| row.at_die),
    column("diameter_at_hot_gauge", "m", "diameter at the hot gauge, the output of compound constant", |row| row.hot),
    column("diameter_at_cold_gauge", "m", "diameter at the cold gauge, the output of compound constant", |row| {
        row.cold
    }),
    column("finished_diameter", "m", "diameter at 23 degC, the output of compound constant", |row| row.finished),
];

impl Gauges {
    /// Along the gauges, along line speeds, along the melts.
    pub fn data(&self) -> Data {
        let mut data = Data::with_cautions(&self.solution.cautions);
        data.number("wanted_m", self.wanted)
            .number("at_die_m", self.at_die)
            .number("delay_s", self.delay)
            .number("finished_per_percent_m", self.per_percent.finished)
            .number("hot_per_percent_m", self.per_percent.hot)
            .number("cold_per_percent_m", self.per_percent.cold)
            .number("error_K", self.error);
        let gauge = data.names("gauge", "gauge", ["hot", "cold"]);
        let speed = data.scale("line_speed", "m s-1", "line speed", self.at_speeds.map(|row| row.speed).to_vec());
        let melt = data.names("melt", "layer that leaves the die as a melt", self.melts.iter().map(|melt| &melt.layer));
        let gauges = [&self.hot, &self.cold];
        let stations = gauges.map(|gauge| gauge.station.clone().unwrap_or_default());
        data.texts("station", "station that is the gauge; empty: die or end of the line", gauge, stations);
        data.along(gauge, gauges, &GAUGE);
        data.along(speed, &self.at_speeds, &AT_SPEED);
        let flows = self.melts.iter().map(|melt| melt.flow).collect();
        data.numbers("melt_flow", "kg s-1", "mass flow of the melt for the wanted diameter", &[melt], flows);
        data
    }
}
