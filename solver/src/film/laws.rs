//! Every film law in one row: name, function, range, source, status, worked examples.

use super::range::{Bound, RangeQuantity};
use super::{FilmState, Input, Inputs, Law, Status, WorkedFilm, formulas, moving};
use crate::data::witness::Witness;
use crate::material::medium::Medium;
use crate::material::{air, water};
use crate::maths::shape::Shape;

/// Every film law.
pub fn laws() -> &'static [Law] {
    &TABLE
}

/// The law of that name.
pub fn find(name: &str) -> Option<&'static Law> {
    TABLE.iter().find(|law| law.name == name)
}

/// The law whose name is nearest to a wrong one, if it is near enough to have been meant.
///
/// ```
/// assert_eq!(quenchway::film::nearest("cros-air"), Some("cross-air"));
/// assert_eq!(quenchway::film::nearest("bubbles"), None);
/// ```
pub fn nearest(wrong: &str) -> Option<&'static str> {
    crate::units::words::nearest(wrong, NAMES)
}

/// The law of a section that names none.
pub fn default_law(medium: Medium) -> &'static Law {
    match medium {
        Medium::Water => &TABLE[0],
        Medium::Air => &TABLE[1],
        Medium::Spray => &TABLE[2],
    }
}

/// Names of all laws, in the order of the table.
pub const NAMES: [&str; LAWS.len()] = {
    let mut names = [""; LAWS.len()];
    let mut row = 0;
    while row < LAWS.len() {
        names[row] = LAWS[row].name;
        row += 1;
    }
    names
};

const WATER: Bound = Bound { quantity: RangeQuantity::FilmTemperature, range: water::RANGE };
const AIR: Bound = Bound { quantity: RangeQuantity::FilmTemperature, range: air::RANGE };
const LAMINAR: Bound = Bound { quantity: RangeQuantity::ReynoldsAlong, range: [0.0, 5e5] };
/// As far as the turbulent part was compared with two closures, in Re_a, and thrice as far in x/a; flat to where c_f of a plate holds.
const AROUND: Bound = Bound { quantity: RangeQuantity::ReynoldsRadius, range: [0.0, 3e4] };
const LONG: Bound = Bound { quantity: RangeQuantity::LengthOverRadius, range: [0.0, 3e4] };
const FLAT: Bound = Bound { quantity: RangeQuantity::ReynoldsAlongFlat, range: [0.0, 1e8] };
const FREE: Bound = Bound { quantity: RangeQuantity::Rayleigh, range: [1e-5, 1e12] };
const ACROSS: Bound = Bound { quantity: RangeQuantity::ReynoldsAcross, range: [0.0, 4e6] };
const MIXING: Bound = Bound { quantity: RangeQuantity::PecletAcross, range: [0.2, f64::INFINITY] };
const FINE: Bound = Bound { quantity: RangeQuantity::Diameter, range: [0.0, 1e-3] };
const SPRAYED: Bound = Bound { quantity: RangeQuantity::ReynoldsSpray, range: [65.0, 285.0] };

const NOTHING: Inputs = Inputs { velocity: 0.0, water_flux: 0.0, stirred: 0.0, lean: 0.0 };

/// A round product's speed, diameter, distance, surface, medium.
const fn state(speed: f64, diameter: f64, distance: f64, surface: f64, medium: f64) -> FilmState {
    FilmState { shape: Shape::Round, speed, diameter, distance, surface, medium, inputs: NOTHING }
}

/// The same against or across a stream of this speed.
const fn blown(velocity: f64, state: FilmState) -> FilmState {
    FilmState { inputs: Inputs { velocity, ..NOTHING }, ..state }
}

const fn moving(state: FilmState, coefficient: f64) -> WorkedFilm {
    let source = "the formulas worked in Python from this program's laminar layer, the turbulent part and the blend computed \
                  independently for this project; the property splines and the table of the moving cylinder";
    WorkedFilm { state, coefficient, within: 2e-4, source, witness: Witness::SecondProgram }
}

/// The whole turbulent layer.
const fn turbulent(state: FilmState, coefficient: f64) -> WorkedFilm {
    let source = "the formulas worked in Python, computed independently for this project; the property splines";
    WorkedFilm { state, coefficient, within: 1e-4, source, witness: Witness::SecondProgram }
}

/// Diameter, surface, medium, and the film coefficient.
const fn still(diameter: f64, surface: f64, medium: f64, coefficient: f64) -> WorkedFilm {
    let source = "Python packages ht 1.2.0 (Churchill and Chu) and CoolProp 8.0.0 (properties at the film temperature); \
                  the rounded corners at equal temperatures and at 4 degC";
    let state = state(0.0, diameter, 0.0, surface, medium);
    WorkedFilm { state, coefficient, within: 1e-4, source, witness: Witness::Library }
}

/// A product of 3 mm in a stream of `velocity`.
const fn across(velocity: f64, surface: f64, medium: f64, coefficient: f64) -> WorkedFilm {
    let source = "Python packages ht 1.2.0 (Churchill and Bernstein) and CoolProp 8.0.0 (properties at the film \
                  temperature); six digits given, the property splines";
    let state = blown(velocity, state(1.0, 3e-3, 1.0, surface, medium));
    WorkedFilm { state, coefficient, within: 3e-5, source, witness: Witness::Library }
}

/// A source and its kind.
type Origin = (&'static str, Witness);

/// The layer on a product of radius `a` at 60 degC in water at 20 degC, `x` from where it begins.
const fn layer(a: f64, speed: f64, x: f64, coefficient: f64, within: f64, (source, witness): Origin) -> WorkedFilm {
    let state = state(speed, 2.0 * a, x - moving::ENTRY_OFFSET, 60.0, 20.0);
    WorkedFilm { state, coefficient, within, source, witness }
}

const DIFFERENCES: Origin = (
    "boundary-layer equations of the cylinder by finite differences, water at 40 degC by CoolProp 8.0.0; the digits given \
     and the table's accuracy",
    Witness::SecondProgram,
);
const BY_HAND: &str = "the equation worked in Python with printed properties of the fluid at the film temperature; the \
                       property splines";

const LAWS: [Law; 12] = [
    Law {
        name: "moving-water",
        medium: Medium::Water,
        describes: "product moving through water: boundary layer from the section's entry, free convection, stirred water",
        takes: &[],
        may_take: &[Input::Stirred, Input::Lean],
        coefficient: formulas::moving_water,
        layer: Some(&moving::ANY_WATER),
        range: "water 0 to 100 degC, no boiling; round Re_a and x/a up to 30,000, flat Re_x up to 1e8",
        bounds: &[WATER, AROUND, LONG, FLAT],
        source: "laminar: Sakiadis 1961 and Tsou, Sparrow, Goldstein 1967, solved again; turbulent: friction of Ali, Dey 2023, \
                 heat by White's form (Lienhard 2020); free: Churchill, Chu 1975; stirred: \
                 Churchill, Bernstein 1977; transition, blend and the 0.75: this program",
        status: Status::Derived,
        doubt: "no measurement of a wire in water supports it. The theory is that of unlimited water at rest, and the law \
                takes 0.75 of its turbulent part. Every place has a band of its own",
        examples: &[
            moving(state(2.5, 3.42e-3, 1.0, 60.0, 16.0), 7366.6253),
            moving(state(2.5, 3.42e-3, 10.0, 30.0, 16.0), 6111.0163),
            moving(state(12.0, 0.93e-3, 2.0, 60.0, 20.0), 32193.7336),
            moving(state(1.0, 10e-3, 2.0, 40.0, 16.0), 2708.2453),
            moving(state(0.1, 40e-3, 2.0, 40.0, 16.0), 787.8899),
            moving(state(0.05, 60e-3, 10.0, 40.0, 18.0), 745.9311),
            moving(state(0.75, 9e-3, 0.05, 60.0, 15.0), 3244.7315),
            moving(state(1e-3, 9e-3, 1.0, 40.0, 18.0), 917.9907),
        ],
    },
    Law {
        name: "moving-air",
        medium: Medium::Air,
        describes: "product moving through still air: boundary layer from the section's entry, free convection",
        takes: &[],
        may_take: &[Input::Lean],
        coefficient: formulas::moving_air,
        layer: Some(&moving::ANY_AIR),
        range: "air -20 to 250 degC, no draught; round Re_a and x/a up to 30,000, flat Re_x up to 1e8",
        bounds: &[AIR, AROUND, LONG, FLAT],
        source: "laminar: Sakiadis 1961 and Tsou, Sparrow, Goldstein 1967, solved again; turbulent: friction of Ali, Dey 2023, \
                 heat by White's form (Lienhard 2020); free: Churchill, Chu 1975; \
                 transition and blend: this program",
        status: Status::Derived,
        doubt: "draughts and fans add to it; radiation comes on top and is often as large",
        examples: &[
            moving(state(2.5, 3.42e-3, 0.4, 188.0, 28.0), 19.30327),
            moving(state(0.2, 20e-3, 2.0, 80.0, 25.0), 7.96570),
            moving(state(15.0, 0.9e-3, 20.0, 100.0, 25.0), 34.18238),
        ],
    },
    Law {
        name: "spray",
        medium: Medium::Spray,
        describes: "water jets from all sides, by the water that arrives at the surface",
        takes: &[Input::WaterFlux],
        may_take: &[],
        coefficient: formulas::spray,
        layer: None,
        range: "Re = water_flux 20 mm/mu 65 to 285, that is 2.6 to 9.9 kg/(m2 s); surface below 95 degC, no boiling",
        bounds: &[WATER, SPRAYED],
        source: "Karwa, Kale, Subbarao 2007 (a disc of 20 mm under one nozzle)",
        status: Status::Memory("both constants of Nu = 20.344 Re^0.659"),
        doubt: "measured on a flat disc, not on a wire; jets that miss one side cool that much less. Common practice for \
                plastics is 1500 to 5000 W/(m2 K), no source. The law gives that at 0.1 to 0.7 kg/(m2 s), below its range",
        examples: &[WorkedFilm {
            state: FilmState { inputs: Inputs { water_flux: 5.0, ..NOTHING }, ..state(2.5, 3e-3, 1.0, 60.0, 20.0) },
            coefficient: 17_611.36,
            within: 1e-5,
            source: BY_HAND,
            witness: Witness::Memory,
        }],
    },
    Law {
        name: "still-water",
        medium: Medium::Water,
        describes: "product standing in still water: free convection about a horizontal cylinder",
        takes: &[],
        may_take: &[],
        coefficient: formulas::still_water,
        layer: None,
        range: "Ra 1e-5 to 1e12, water 0 to 100 degC",
        bounds: &[WATER, FREE],
        source: "Churchill, Chu 1975",
        status: Status::Read,
        doubt: "the least that water can do: any movement adds to it",
        examples: &[
            still(3e-3, 60.0, 20.0, 1521.17),
            still(3e-3, 30.0, 20.0, 897.06),
            still(10e-3, 60.0, 20.0, 1230.22),
        ],
    },
    Law {
        name: "still-air",
        medium: Medium::Air,
        describes: "product standing in still air: free convection about a horizontal cylinder",
        takes: &[],
        may_take: &[],
        coefficient: formulas::still_air,
        layer: None,
        range: "Ra 1e-5 to 1e12, air -20 to 250 degC",
        bounds: &[AIR, FREE],
        source: "Churchill, Chu 1975",
        status: Status::Read,
        doubt: "the least that air can do; radiation comes on top and is often as large",
        examples: &[still(3e-3, 150.0, 25.0, 18.0607), still(3e-3, 60.0, 25.0, 14.3788)],
    },
    Law {
        name: "cross-air",
        medium: Medium::Air,
        describes: "air blown across the product, an air wipe or a fan: cross-flow about a cylinder",
        takes: &[Input::Velocity],
        may_take: &[],
        coefficient: formulas::cross_air,
        layer: None,
        range: "Re_d Pr above 0.2, Re_d up to 4e6, air -20 to 250 degC",
        bounds: &[AIR, ACROSS, MIXING],
        source: "Churchill, Bernstein 1977",
        status: Status::Read,
        doubt: "the velocity is that of the air at the product, not at the nozzle; water that is blown off or evaporates is \
                not counted",
        examples: &[across(2.0, 150.0, 25.0, 86.0948)],
    },
    Law {
        name: "cross-water",
        medium: Medium::Water,
        describes: "water streaming across the product: cross-flow about a cylinder",
        takes: &[Input::Velocity],
        may_take: &[],
        coefficient: formulas::cross_water,
        layer: None,
        range: "Re_d Pr above 0.2, Re_d up to 4e6, water 0 to 100 degC, no boiling",
        bounds: &[WATER, ACROSS, MIXING],
        source: "Churchill, Bernstein 1977",
        status: Status::Read,
        doubt: "a stream across the whole length is rare; the velocity is that of the water at the product, not at the pipe",
        examples: &[across(0.5, 60.0, 20.0, 10_099.9), across(2.0, 40.0, 20.0, 20_128.0)],
    },
    Law {
        name: "along-air",
        medium: Medium::Air,
        describes: "air blown against the product's travel, a fan along the line: moving-air at the speed through the air",
        takes: &[Input::Velocity],
        may_take: &[Input::Lean],
        coefficient: formulas::moving_air,
        layer: Some(&moving::ANY_AIR),
        range: "air -20 to 250 degC; round Re_a with the speed through the air and x/a up to 30,000, flat Re_x up to 1e8",
        bounds: &[AIR, AROUND, LONG, FLAT],
        source: "as moving-air: laminar Sakiadis 1961, turbulent Ali, Dey 2023 with White's form, free Churchill, Chu 1975",
        status: Status::Derived,
        doubt: "a fast stream on a slow product is a layer on a plate at rest, in air a sixth weaker where it is laminar",
        examples: &[
            moving(blown(2.0, state(0.5, 3.42e-3, 0.4, 188.0, 28.0)), 19.30327),
            moving(blown(5.0, state(10.0, 0.9e-3, 20.0, 100.0, 25.0)), 34.18238),
        ],
    },
    Law {
        name: "along-water",
        medium: Medium::Water,
        describes: "water driven against the product's travel: moving-water at the speed through the water",
        takes: &[Input::Velocity],
        may_take: &[Input::Stirred, Input::Lean],
        coefficient: formulas::moving_water,
        layer: Some(&moving::ANY_WATER),
        range: "water 0 to 100 degC, no boiling; round Re_a with the speed through the water and x/a up to 30,000, flat Re_x up to 1e8",
        bounds: &[WATER, AROUND, LONG, FLAT],
        source: "as moving-water: laminar Sakiadis 1961; turbulent Ali, Dey 2023 with White's form; free Churchill, Chu 1975; \
                 stirred Churchill, Bernstein 1977",
        status: Status::Derived,
        doubt: "as moving-water; a narrow tube has a law of its own",
        examples: &[
            moving(blown(2.0, state(0.5, 3.42e-3, 10.0, 30.0, 16.0)), 6111.0163),
            moving(blown(10.0, state(2.0, 0.93e-3, 2.0, 60.0, 20.0)), 32193.7336),
        ],
    },
    Law {
        name: "laminar-water",
        medium: Medium::Water,
        describes: "product moving through still water: the laminar boundary layer alone, with curvature",
        takes: &[],
        may_take: &[],
        coefficient: formulas::laminar_water,
        layer: None,
        range: "speed above 0, Re_x up to 5e5, water 0 to 100 degC, no boiling",
        bounds: &[WATER, LAMINAR],
        source: "Sakiadis 1961 and Tsou, Sparrow, Goldstein 1967, solved again",
        status: Status::Derived,
        doubt: "real troughs do not follow it; free convection alone is often more",
        examples: &[
            layer(1.5e-3, 2.0, 5.0, 681.0, 1e-3, DIFFERENCES),
            layer(0.5e-3, 10.0, 10.0, 1279.0, 1e-3, DIFFERENCES),
        ],
    },
    Law {
        name: "turbulent-water",
        medium: Medium::Water,
        describes: "product moving through still water: the turbulent boundary layer alone, all of it, with curvature",
        takes: &[],
        may_take: &[],
        coefficient: formulas::turbulent_water,
        layer: None,
        range: "Re_a 600 to 30,000 and x/a up to 30,000, flat Re_x 2e5 to 1e8; water 0 to 100 degC, no boiling",
        bounds: &[WATER, AROUND, LONG, FLAT],
        source: "friction of Ali, Dey 2023 (abstract), heat by White's form (Lienhard 2020; formula from memory)",
        status: Status::Derived,
        doubt: "theory of unlimited water at rest: two closures give 0.86 to 1.32 of it; moving-water takes 0.75 of it",
        examples: &[
            turbulent(state(2.5, 3.42e-3, 1.0, 60.0, 16.0), 9796.0209),
            turbulent(state(2.5, 3.42e-3, 10.0, 30.0, 16.0), 8141.2489),
            turbulent(state(0.05, 60e-3, 10.0, 40.0, 18.0), 222.4713),
        ],
    },
    Law {
        name: "fibre-air",
        medium: Medium::Air,
        describes: "fine fibre running through air that is blown across it",
        takes: &[Input::Velocity],
        may_take: &[],
        coefficient: formulas::fibre_air,
        layer: None,
        range: "speed above 0, air -20 to 250 degC; fibres well below a millimetre (limits not known here: checked at 1 mm)",
        bounds: &[AIR, FINE],
        source: "Kase, Matsuo 1965",
        status: Status::Memory(
            "Nu = 0.42 Re_d^0.334 [1 + (8 velocity/speed)^2]^0.167 with its constants and its reference",
        ),
        doubt: "made for melt spinning of textile fibres",
        examples: &[
            WorkedFilm {
                state: state(10.0, 0.2e-3, 1.0, 175.0, 25.0),
                coefficient: 294.4193,
                within: 1e-5,
                source: BY_HAND,
                witness: Witness::Memory,
            },
            WorkedFilm {
                state: blown(0.5, state(10.0, 0.2e-3, 1.0, 175.0, 25.0)),
                coefficient: 301.8080,
                within: 1e-5,
                source: BY_HAND,
                witness: Witness::Memory,
            },
        ],
    },
];

static TABLE: [Law; LAWS.len()] = LAWS;
