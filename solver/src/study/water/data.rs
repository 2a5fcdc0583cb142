//! The water as labelled numbers.

use super::{ASSUMED_RISE, OfSection, Taken, Told, Water};
use crate::data::{Column, Data, column};

static OF_SECTION: [Column<OfSection>; 7] = [
    column("heat", "W", "heat given to the water", |section| section.heat),
    column("flow", "kg s-1", "water flow; absent where it is held", |section| section.flow.unwrap_or(f64::NAN)),
    column("water_in", "degC", "water temperature at its inlet", |section| section.inlet),
    column("water_out", "degC", "water temperature at its outlet", |section| section.outlet.unwrap_or(f64::NAN)),
    column("flow_for_1_K", "kg s-1", "flow that would hold the rise to 1 K", |section| {
        section.for_rise.map_or(f64::NAN, |flow| flow.one)
    }),
    column("flow_for_2_K", "kg s-1", "flow that would hold the rise to 2 K", |section| {
        section.for_rise.map_or(f64::NAN, |flow| flow.two)
    }),
    column("flow_for_5_K", "kg s-1", "flow that would hold the rise to 5 K", |section| {
        section.for_rise.map_or(f64::NAN, |flow| flow.five)
    }),
];

impl Water {
    /// Along line speed, way of the water, section.
    pub fn data(&self) -> Data {
        let ways = || self.at_speeds.iter().flat_map(|row| &row.ways);
        let mut reasons: Vec<&str> = ways().filter_map(|told| told.reason.as_deref()).collect();
        reasons.sort_unstable();
        reasons.dedup();
        let cautions = self.first.as_ref().map(|solution| solution.cautions.clone()).unwrap_or_default();
        let mut data = Data::with_cautions(&cautions);
        data.text("place", self.place.clone())
            .text("status_reason", reasons.join("\n"))
            .number("assumed_rise_K", ASSUMED_RISE);
        let speeds = self.at_speeds.iter().map(|row| row.speed).collect();
        let speed = data.scale("line_speed", "m s-1", "line speed", speeds);
        let way = data.names("way", "how the water runs", ["as given", "along", "counter"]);
        let section = data.names("section", "section in water", &self.sections);

        let place = &self.place;
        for (name, units, words, value) in [
            (
                "chiller_duty",
                "W",
                "heat that all water takes up".to_string(),
                (|t| t.chiller_duty) as fn(&Taken) -> f64,
            ),
            ("surface", "degC", format!("surface temperature at {place}"), |taken| taken.surface),
            ("core", "degC", format!("core temperature at {place}"), |taken| taken.core),
            ("equalised", "degC", format!("adiabatic mix of the product at {place}"), |taken| taken.equalised),
            ("error", "K", "stated error of the temperatures".to_string(), |taken| taken.error),
        ] {
            let values = ways().map(|told| told.taken.as_ref().map_or(f64::NAN, value)).collect();
            data.numbers(name, units, &words, &[speed, way], values);
        }
        for Column { label, value } in &OF_SECTION {
            let of_way = |told: &Told| -> Vec<f64> {
                let mut values: Vec<f64> = told.taken.iter().flat_map(|taken| &taken.sections).map(value).collect();
                values.resize(self.sections.len(), f64::NAN);
                values
            };
            data.numbers(
                label.name,
                label.units,
                label.long_name,
                &[speed, way, section],
                ways().flat_map(of_way).collect(),
            );
        }
        let assumed = self.assumed.iter().map(|&assumed| f64::from(assumed)).collect();
        data.numbers("assumed_flow", "1", "1 where the case gives no flow", &[section], assumed);
        let status = |told: &Told| match &told.reason {
            None => 0.0,
            Some(reason) => 1.0 + reasons.iter().position(|known| known == reason).unwrap_or(0) as f64,
        };
        let words = "0 where there is an answer, otherwise the line of status_reason that says why there is none";
        data.numbers("status", "1", words, &[speed, way], ways().map(status).collect());
        data
    }
}
