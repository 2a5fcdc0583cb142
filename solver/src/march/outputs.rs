//! From a lane to the numbers that outputs ask for.

use crate::case::error::Error;
use crate::case::shrink;
use crate::case::{Case, Quantity};
use crate::engine::{Field, Row, View};
use crate::line::Prepared;
use crate::line::observe;
use crate::line::set::{Set, extremes};
use crate::line::skin::Skins;
use crate::line::step::Step;
use crate::line::trip::Trip;
use crate::line::watch::{Notes, Watch};
use crate::march::assemble;
use crate::march::checked_books;
use crate::march::output::Output;
use crate::march::skins;
use crate::march::solution::{Balance, Fields, Numerics, PointReport, SectionReport, Shrink, Solution, StationReport};

/// What the outputs of a batch need.
#[derive(Clone, Debug)]
pub(crate) struct Wanted<'o> {
    outputs: &'o [Output],
    /// Of each station.
    stations: Vec<Vec<Quantity>>,
    equalised: bool,
    shrink: bool,
    /// Set skins of layers.
    skins: bool,
    /// Where layers set through.
    set: bool,
    /// Means of film coefficients.
    pub(crate) films: bool,
}

/// The last steps of the names of outputs that these numbers answer, beside the temperatures of stations.
const KNOWN: [&str; 21] = [
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
    "melt_shrink",
    "mid_wall_rate",
    "set_through",
];

impl<'o> Wanted<'o> {
    /// What these outputs need; none where one of them needs a whole solution.
    pub(crate) fn by(outputs: &'o [Output]) -> Option<Wanted<'o>> {
        let mut wanted = Wanted {
            outputs,
            stations: Vec::new(),
            equalised: false,
            shrink: false,
            skins: false,
            set: false,
            films: false,
        };
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
                "melt_shrink" | "mid_wall_rate" => wanted.skins = true,
                "set_through" => wanted.set = true,
                "hot_gauge" | "cold_gauge" | "finished" | "to_cold_gauge" | "to_finished" | "frozen_axial" => {
                    wanted.shrink = true;
                }
                _ => {}
            }
        }
        Some(wanted)
    }

    fn at(&self, station: usize, quantity: Quantity) -> bool {
        self.stations.get(station).is_some_and(|wanted| wanted.contains(&quantity))
    }
}

/// A solution for the numbers of outputs, without names and fields.
fn blank() -> Solution {
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
        cooling: None,
        chiller_duty: f64::NAN,
        peclet: f64::NAN,
        band: Vec::new(),
        band_inputs: Vec::new(),
        balance: Balance { heat_to_media: f64::NAN, enthalpy_drop: f64::NAN, relative_error: f64::NAN },
        numerics: Numerics { cells: 0, steps: 0, tolerance: f64::NAN, error: f64::NAN, boiling_error: None, wall: 0.0 },
        warnings: Vec::new(),
        cautions: Vec::new(),
        fields: Fields::default(),
    }
}

/// Makes room for the numbers of a case.
fn clear(solution: &mut Solution, case: &Case) {
    let point = || PointReport {
        surface: f64::NAN,
        core: f64::NAN,
        mean: f64::NAN,
        hottest: f64::NAN,
        equalised: f64::NAN,
        hot_side: None,
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
        around: None,
        biot: f64::NAN,
        boiling: f64::NAN,
    }));
    solution.rebound = 0.0;
    (solution.numerics.tolerance, solution.numerics.error) = (case.tolerance, case.tolerance);
}

/// The numbers of the case in a lane.
pub(crate) struct Numbers<'o> {
    wanted: &'o Wanted<'o>,
    solution: Solution,
    /// Where somebody asks for them; none before the case stands at the die.
    skins: Option<Skins>,
    set: Option<Set>,
}

impl<'o> Numbers<'o> {
    /// Room for what is wanted.
    pub(crate) fn new(wanted: &'o Wanted<'o>) -> Numbers<'o> {
        Numbers { wanted, solution: blank(), skins: None, set: None }
    }
}

impl Watch for Numbers<'_> {
    fn step<R: Row>(&mut self, of: &Prepared, view: View<R>, step: &Step) {
        if let Some(skins) = &mut self.skins {
            skins.look(of, view, step);
        }
        if let Some(set) = &mut self.set {
            for layer in 0..of.case.layers.len() {
                let [hottest, _] = extremes(&of.slice, view, layer);
                set.look(of, view, step, layer, hottest);
            }
        }
    }

    fn station<R: Row>(&mut self, trip: &Trip, index: usize, view: View<R>) {
        let (of, wanted) = (&*trip.of, self.wanted);
        let point = &mut self.solution.stations[index].point;
        if trip.steps[0] == 0 {
            let entering = observe::entering(of.case, &of.slice, &of.radii, &of.start);
            point.surface = entering.surface;
            point.core = entering.core;
            point.mean = entering.mean;
            point.hottest = entering.hottest;
            point.layer_hottest = entering.layer_hottest;
            point.equalised = entering.equalised;
            point.diameter = entering.diameter;
            return;
        }
        let look = Look { of, view };
        point.surface = view.surface();
        point.core = look.core();
        point.diameter = look.diameter();
        if wanted.at(index, Quantity::Mean) {
            point.mean = look.mean();
        }
        if wanted.at(index, Quantity::Hottest) {
            point.hottest = look.hottest();
        }
        if wanted.at(index, Quantity::Equalised) {
            point.equalised = look.equalised();
        }
        let layers = of.case.layers.len();
        for layer in (0..layers).filter(|&layer| wanted.at(index, Quantity::Layer(layer))) {
            point.layer_hottest.resize(layers, f64::NAN);
            point.layer_hottest[layer] = look.hottest_of(layer);
        }
    }

    fn section_end<R: Row>(&mut self, _: &Trip, index: usize, view: View<R>) {
        self.solution.sections[index].exit.surface = view.surface();
    }
}

impl Notes for Numbers<'_> {
    /// The values of the outputs.
    type Answer = Vec<f64>;

    fn begin(&mut self, of: &Prepared) {
        clear(&mut self.solution, of.case);
        (self.skins, self.set) = (None, None);
    }

    fn start<R: Row>(&mut self, of: &Prepared, view: View<R>) {
        self.skins = self.wanted.skins.then(|| Skins::new(of, view));
        self.set = self.wanted.set.then(|| Set::new(of, view));
    }

    /// Where the books close.
    fn end<R: Row>(&mut self, trip: &Trip, view: View<R>) -> Result<Vec<f64>, Error> {
        let (of, wanted) = (&*trip.of, self.wanted);
        let (case, into) = (of.case, &mut self.solution);
        crate::line::water_search::check_liquid(trip)?;
        let [lost, given, relative] = checked_books(case, &of.slice, [&of.start, &view.state()], &trip.books.passages)?;
        let power = case.shape.around() * case.line_speed;
        into.balance = Balance { heat_to_media: given * power, enthalpy_drop: lost * power, relative_error: relative };
        into.numerics.steps = trip.steps[0];
        into.numerics.cells = of.slice.cells();
        for ((section, passage), own) in into.sections.iter_mut().zip(&trip.books.passages).zip(&case.sections) {
            section.heat = passage.heat * case.shape.around() * case.line_speed;
            section.heat_to_water = if own.medium.is_water() {
                passage.heat_of_passes * case.shape.around() * case.line_speed
            } else {
                0.0
            };
            section.water_in = passage.water.map(|water| water.inlet);
            section.water_out = passage.water.map(|water| water.outlet);
            section.water_flow = passage.water.map(|water| water.flow);
            section.film_mean = passage.film;
        }
        into.chiller_duty = into.sections.iter().map(|section| section.heat_to_water).sum::<f64>().max(0.0);
        let look = Look { of, view };
        if wanted.equalised {
            into.equalised = look.equalised();
        }
        let last_water = case.sections.iter().rposition(|section| section.medium.is_water());
        if let (Some(water), Some(peak)) = (last_water, trip.dry_peak) {
            into.rebound = (view.surface_at(peak) - into.sections[water].exit.surface).max(0.0);
        }
        if wanted.shrink {
            look.shrink(into);
        }
        if let Some(skins) = &self.skins {
            into.skins = skins::skins(case, &skins.found);
        }
        if let Some(set) = &self.set {
            into.set_through = assemble::set_through(case, &set.through);
        }
        Ok(wanted.outputs.iter().map(|output| output.of(into)).collect())
    }
}

/// A lane at a stop; its numbers are those that `observe` makes of the same state, to the last bit.
pub(crate) struct Look<'p, 'b, 'a, R: Row> {
    pub(crate) of: &'p Prepared<'p>,
    pub(crate) view: View<'b, 'a, R>,
}

impl<R: Row> Look<'_, '_, '_, R> {
    /// Temperatures of the axis and of the outer face of a lumped core.
    fn core_ends(&self) -> Option<[f64; 2]> {
        let (core, view) = (self.of.slice.core.as_ref()?, self.view);
        let (mean, [conductance, inside]) = (view.core(), view.core_conductances());
        let flow = conductance * (mean - view.temperature(0));
        let face = mean - flow / inside;
        Some([mean + core.axis * (mean - face), face])
    }

    pub(crate) fn core(&self) -> f64 {
        self.core_ends().map_or_else(|| self.view.temperature(0), |[axis, _]| axis)
    }

    pub(crate) fn mean(&self) -> f64 {
        let (slice, t) = (&self.of.slice, self.view.temperatures());
        let mut sums = [0.0; 2];
        for layer in observe::plastic_layers(self.of.case) {
            let mass = observe::layer_mass(slice, layer);
            let mean = observe::meshed_mean(slice, &t, layer).unwrap_or_else(|| self.view.core());
            sums = [sums[0] + mass * mean, sums[1] + mass];
        }
        sums[0] / sums[1]
    }

    pub(crate) fn hottest(&self) -> f64 {
        observe::layers_with_plastic(self.of.case).map(|layer| self.hottest_of(layer)).fold(f64::NEG_INFINITY, f64::max)
    }

    pub(crate) fn hottest_of(&self, layer: usize) -> f64 {
        observe::meshed_hottest(&self.of.slice, &self.view.temperatures(), layer)
            .unwrap_or_else(|| self.core_ends().map_or_else(|| self.view.core(), |[axis, face]| axis.max(face)))
    }

    pub(crate) fn equalised(&self) -> f64 {
        let slice = &self.of.slice;
        observe::adiabatic_mix(slice, slice.content(&self.view.state()), self.mean())
    }

    pub(crate) fn diameter(&self) -> f64 {
        if self.of.slice.flat {
            let field = Field::of(&self.of.slice, &self.view.state());
            return 2.0 * observe::outer_radius(&self.of.slice, &field);
        }
        2.0 * self.view.surface_square().sqrt()
    }

    fn shrink(&self, into: &mut Solution) {
        let of = self.of;
        let (case, last) = (of.case, of.case.layers.len() - 1);
        let gauge = |word: &str| case.gauge(word).map(|index| into.stations[index].point.diameter);
        let hot = gauge("hot").unwrap_or(2.0 * of.radii.hot[last]);
        let cold = gauge("cold").unwrap_or_else(|| self.diameter());
        let shrink = &mut into.shrink;
        (shrink.hot_gauge, shrink.cold_gauge) = (hot, cold);
        shrink.finished = 2.0 * of.radii.finished[last];
        shrink.to_cold_gauge = 100.0 * (hot - cold) / hot;
        shrink.to_finished = 100.0 * (hot - shrink.finished) / hot;
        shrink.frozen_axial = 100.0 * case.layers.iter().map(shrink::frozen_axial_strain).fold(0.0, f64::max);
    }
}
