//! From the rows of a lane to the numbers that outputs ask for.

use super::bundle::Bundle;
use super::prepare::Prepared;
use super::trip::Trip;
use crate::case::{Case, Quantity};
use crate::march::{around, balance_scale};
use crate::observe;
use crate::shrink;
use crate::solution::{
    Balance, Fields, LimitedBy, Numerics, PointReport, SectionReport, Shrink, Solution, StationReport,
};
use crate::study::output::Output;
use crate::vector::Row;

/// What the outputs of a batch need.
#[derive(Clone, Debug)]
pub struct Wanted<'o> {
    outputs: &'o [Output],
    /// Of each station.
    stations: Vec<Vec<Quantity>>,
    equalised: bool,
    shrink: bool,
    /// Means of film coefficients.
    pub(super) films: bool,
}

/// The last steps of the names of outputs that lanes can answer, beside the temperatures of stations.
const KNOWN: [&str; 18] = [
    "diameter",
    "distance",
    "time",
    "heat",
    "heat_to_water",
    "water_in",
    "water_out",
    "film_mean",
    "equalised",
    "rebound",
    "chiller_duty",
    "error",
    "hot_gauge",
    "cold_gauge",
    "finished",
    "to_cold_gauge",
    "to_finished",
    "frozen_axial",
];

impl<'o> Wanted<'o> {
    /// What these outputs need; none where one of them needs a whole solution.
    pub fn by(outputs: &'o [Output]) -> Option<Wanted<'o>> {
        let mut wanted = Wanted { outputs, stations: Vec::new(), equalised: false, shrink: false, films: false };
        for output in outputs {
            if let Some((station, quantity)) = output.temperature() {
                if wanted.stations.len() <= station {
                    wanted.stations.resize(station + 1, Vec::new());
                }
                wanted.stations[station].push(quantity);
                continue;
            }
            if !KNOWN.contains(&output.step()) {
                return None;
            }
            match output.step() {
                "film_mean" => wanted.films = true,
                "equalised" => wanted.equalised = true,
                "hot_gauge" | "cold_gauge" | "finished" | "to_cold_gauge" | "to_finished" | "frozen_axial" => {
                    wanted.shrink = true;
                }
                _ => {}
            }
        }
        Some(wanted)
    }

    /// The values of the outputs.
    pub(super) fn values(&self, solution: &Solution) -> Vec<f64> {
        self.outputs.iter().map(|output| output.of(solution)).collect()
    }

    fn at(&self, station: usize, quantity: Quantity) -> bool {
        self.stations.get(station).is_some_and(|wanted| wanted.contains(&quantity))
    }
}

/// A solution for the numbers of outputs, without names and fields.
pub(super) fn blank() -> Solution {
    Solution {
        title: String::new(),
        stations: Vec::new(),
        sections: Vec::new(),
        equalised: f64::NAN,
        rebound: 0.0,
        set_through: Vec::new(),
        skins: Vec::new(),
        shrink: Shrink {
            hot_gauge: f64::NAN,
            cold_gauge: f64::NAN,
            finished: f64::NAN,
            to_cold_gauge: f64::NAN,
            to_finished: f64::NAN,
            frozen_axial: f64::NAN,
            hot_gauge_station: String::new(),
            cold_gauge_station: String::new(),
        },
        throughput: Vec::new(),
        limited_by: LimitedBy::Mixed,
        chiller_duty: f64::NAN,
        peclet: f64::NAN,
        band: Vec::new(),
        band_inputs: Vec::new(),
        balance: Balance { heat_to_media: f64::NAN, enthalpy_drop: f64::NAN, relative_error: f64::NAN },
        numerics: Numerics { cells: 0, steps: 0, tolerance: f64::NAN, error: f64::NAN, wall: 0.0 },
        warnings: Vec::new(),
        cautions: Vec::new(),
        fields: Fields::default(),
    }
}

/// Makes room for the numbers of a case.
pub(super) fn clear(solution: &mut Solution, case: &Case) {
    let point = || PointReport {
        surface: f64::NAN,
        core: f64::NAN,
        mean: f64::NAN,
        hottest: f64::NAN,
        equalised: f64::NAN,
        interfaces: Vec::new(),
        layer_means: Vec::new(),
        layer_hottest: Vec::new(),
        diameter: f64::NAN,
    };
    solution.stations.clear();
    solution.stations.extend(case.stations.iter().map(|station| {
        let distance = case.station_distance(station);
        let time = distance / case.line_speed;
        StationReport { name: String::new(), distance, time, point: point(), limits: Vec::new() }
    }));
    solution.sections.clear();
    solution.sections.extend(case.sections.iter().map(|section| SectionReport {
        name: String::new(),
        medium: section.medium,
        start: f64::NAN,
        end: f64::NAN,
        exit: point(),
        heat: f64::NAN,
        medium_temperature: section.temperature.0,
        water_in: None,
        water_out: None,
        water_flow: None,
        heat_to_water: f64::NAN,
        flow_for_rise: None,
        film_mean: f64::NAN,
        biot: f64::NAN,
        boiling: f64::NAN,
        limited_by: LimitedBy::Mixed,
    }));
    solution.rebound = 0.0;
    (solution.numerics.tolerance, solution.numerics.error) = (case.tolerance, case.tolerance);
}

/// A lane after `fields`: its state in the order of a slice.
pub(super) struct Lane<'b, 'a> {
    pub(super) bundle: &'b Bundle<'a>,
    pub(super) lane: usize,
}

impl Lane<'_, '_> {
    /// A row of every node in the order of a slice: vertices, then middles.
    fn gather<'s>(&'s self, row: impl Fn(usize) -> f64 + 's) -> impl Iterator<Item = f64> + 's {
        let links = self.bundle.structure.links();
        (0..=links).map(|v| 2 * v).chain((0..links).map(|l| 2 * l + 1)).map(row)
    }

    fn temperatures(&self) -> Vec<f64> {
        self.gather(|node| self.bundle.nodes[node].temperature.0[self.lane]).collect()
    }

    /// The state as a slice orders it.
    fn state(&self) -> Vec<f64> {
        let (bundle, lane) = (self.bundle, self.lane);
        let ends = [bundle.core().unknown.state.0[lane], bundle.heat.state.0[lane]];
        self.gather(|node| bundle.nodes[node].unknown.state.0[lane]).chain(ends).collect()
    }

    pub(super) fn surface(&self) -> f64 {
        self.bundle.surface().temperature.0[self.lane]
    }

    fn inner(&self) -> f64 {
        self.bundle.nodes[0].temperature.0[self.lane]
    }

    /// Temperatures of the axis and of the outer face of a lumped core.
    fn core_ends(&self, of: &Prepared) -> Option<[f64; 2]> {
        let core = of.slice.core.as_ref()?;
        let (ends, lane) = (&self.bundle.ends, self.lane);
        let mean = self.core_mean();
        let flow = ends.core_conductance.0[lane] * (mean - self.inner());
        let face = mean - flow / ends.core_inside.0[lane];
        Some([mean + core.axis * (mean - face), face])
    }

    fn core(&self, of: &Prepared) -> f64 {
        self.core_ends(of).map_or_else(|| self.inner(), |[axis, _]| axis)
    }

    fn core_mean(&self) -> f64 {
        self.bundle.core().temperature.0[self.lane]
    }

    fn mean(&self, of: &Prepared) -> f64 {
        let t = self.temperatures();
        let mut sums = [0.0; 2];
        for layer in observe::plastic_layers(of.case) {
            let mass = observe::layer_mass(&of.slice, layer);
            let mean = observe::meshed_mean(&of.slice, &t, layer).unwrap_or_else(|| self.core_mean());
            sums = [sums[0] + mass * mean, sums[1] + mass];
        }
        sums[0] / sums[1]
    }

    fn hottest(&self, of: &Prepared) -> f64 {
        observe::layers_with_plastic(of.case).map(|layer| self.hottest_of(of, layer)).fold(f64::NEG_INFINITY, f64::max)
    }

    fn hottest_of(&self, of: &Prepared, layer: usize) -> f64 {
        observe::meshed_hottest(&of.slice, &self.temperatures(), layer)
            .unwrap_or_else(|| self.core_ends(of).map_or_else(|| self.core_mean(), |[axis, face]| axis.max(face)))
    }

    fn equalised(&self, of: &Prepared) -> f64 {
        let content = of.slice.content(&self.state());
        let tables = &self.bundle.lanes.tables[self.lane].tables;
        observe::adiabatic_mix(&of.slice, tables, content, self.mean(of))
    }

    fn diameter(&self, of: &Prepared) -> f64 {
        let (bundle, lane) = (self.bundle, self.lane);
        let links = bundle.structure.links();
        if !of.slice.flat {
            return 2.0 * bundle.cells[links - 1].square.0[lane].sqrt();
        }
        let polynomial = |rows: &[Row; 4], node: usize| {
            let delta = bundle.nodes[node].delta.0[lane];
            if bundle.structure.moving {
                rows.iter().rev().fold(0.0, |sum, row| sum * delta + row.0[lane])
            } else {
                1.0
            }
        };
        let area = |node: usize| polynomial(&bundle.nodes[node].segment.side.area, node);
        let mut place = of.slice.inner;
        if let Some(core) = &of.slice.core {
            place += core.area * area(bundle.structure.nodes());
        }
        for link in 0..links {
            let cell = &bundle.cells[link];
            let b = if cell.joint { polynomial(&cell.inside.area, 2 * link + 2) } else { area(2 * link + 2) };
            let sum = area(2 * link) + 4.0 * area(2 * link + 1) + b;
            place += of.slice.link_mass[link] / of.slice.link_density[link] * sum / 6.0;
        }
        2.0 * place
    }

    /// Notes a station.
    pub(super) fn station(&self, trip: &Trip, wanted: &Wanted<'_>, index: usize, into: &mut Solution) {
        let of = &trip.of;
        let point = &mut into.stations[index].point;
        if trip.steps == 0
            && let Some(entering) = &of.entering
        {
            point.surface = entering.surface;
            point.core = entering.core;
            point.mean = entering.mean;
            point.hottest = entering.hottest;
            point.layer_hottest.clone_from(&entering.layer_hottest);
            point.equalised = entering.equalised;
            point.diameter = entering.diameter;
            return;
        }
        point.surface = self.surface();
        point.core = self.core(of);
        point.diameter = self.diameter(of);
        if wanted.at(index, Quantity::Mean) {
            point.mean = self.mean(of);
        }
        if wanted.at(index, Quantity::Hottest) {
            point.hottest = self.hottest(of);
        }
        if wanted.at(index, Quantity::Equalised) {
            point.equalised = self.equalised(of);
        }
        let layers = (0..of.case.layers.len()).filter(|&layer| wanted.at(index, Quantity::Layer(layer)));
        for layer in layers {
            point.layer_hottest.resize(of.case.layers.len(), f64::NAN);
            point.layer_hottest[layer] = self.hottest_of(of, layer);
        }
    }

    /// Notes the end of the line; none where the books do not close.
    pub(super) fn end(&self, trip: &Trip, wanted: &Wanted<'_>, into: &mut Solution) -> Option<()> {
        let (of, case) = (&trip.of, trip.of.case);
        let state = self.state();
        let lost = of.content - of.slice.content(&state);
        let given = state[of.slice.heat_index()];
        let tables = &self.bundle.lanes.tables[self.lane].tables;
        let relative = (lost - given) / balance_scale(case, &of.slice, tables);
        // Not above: a balance that is no number is open, too.
        let closed = relative.abs() <= crate::march::BALANCE;
        let liquid =
            trip.passages.iter().filter_map(|passage| passage.water).all(|water| (0.0..=100.0).contains(&water.outlet));
        if !closed || !liquid {
            return None;
        }
        let power = around(case) * case.line_speed;
        into.balance = Balance { heat_to_media: given * power, enthalpy_drop: lost * power, relative_error: relative };
        into.numerics.steps = trip.steps;
        let meshed = self.bundle.structure.contacts.iter().filter(|contact| !**contact).count();
        into.numerics.cells = meshed + usize::from(of.slice.core.is_some());
        for ((section, passage), of) in into.sections.iter_mut().zip(&trip.passages).zip(&case.sections) {
            section.heat = passage.heat * around(case) * case.line_speed;
            section.heat_to_water =
                if of.medium.is_water() { passage.heat_of_passes * around(case) * case.line_speed } else { 0.0 };
            section.water_in = passage.water.map(|water| water.inlet);
            section.water_out = passage.water.map(|water| water.outlet);
            section.water_flow = passage.water.map(|water| water.flow);
            section.film_mean = passage.film;
        }
        into.chiller_duty = into.sections.iter().map(|section| section.heat_to_water).sum::<f64>().max(0.0);
        if wanted.equalised {
            into.equalised = self.equalised(of);
        }
        let last_water = case.sections.iter().rposition(|section| section.medium.is_water());
        if let (Some(water), true) = (last_water, trip.dry_peak > f64::NEG_INFINITY) {
            let tables = &self.bundle.lanes.tables[self.lane];
            let table = &tables.tables[tables.of[self.bundle.structure.nodes() - 1]];
            let peak = table.temperature(trip.dry_peak).0.0;
            into.rebound = (peak - into.sections[water].exit.surface).max(0.0);
        }
        if wanted.shrink {
            self.shrink(of, into);
        }
        Some(())
    }

    fn shrink(&self, of: &Prepared, into: &mut Solution) {
        let (case, last) = (of.case, of.case.layers.len() - 1);
        let gauge = |word: &str| case.gauge(word).map(|index| into.stations[index].point.diameter);
        let hot = gauge("hot").unwrap_or(2.0 * of.radii.hot[last]);
        let cold = gauge("cold").unwrap_or_else(|| self.diameter(of));
        let shrink = &mut into.shrink;
        (shrink.hot_gauge, shrink.cold_gauge) = (hot, cold);
        shrink.finished = 2.0 * of.radii.finished[last];
        shrink.to_cold_gauge = 100.0 * (hot - cold) / hot;
        shrink.to_finished = 100.0 * (hot - shrink.finished) / hot;
        shrink.frozen_axial = 100.0 * case.layers.iter().map(shrink::frozen_axial_strain).fold(0.0, f64::max);
    }
}
