//! Every key of a case file in one table: where it stands, what it takes, what it means, and an example.
//!
//! The reader takes bounds and words from it, unknown keys are compared with it, the JSON Schema is made from it.

pub(crate) use super::place::Place;
use crate::units::Dimension;

/// A physical value and its bounds, SI: outside them it is a slip of the pen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Quantity {
    pub(crate) dimension: Dimension,
    pub(crate) low: f64,
    pub(crate) high: f64,
}

const fn quantity(dimension: Dimension, low: f64, high: f64) -> Quantity {
    Quantity { dimension, low, high }
}

const SPEED: Quantity = quantity(Dimension::Speed, 1e-4, 100.0);
/// As a line speed, a standstill included.
const ANY_SPEED: Quantity = quantity(Dimension::Speed, 0.0, 100.0);
const DURATION: Quantity = quantity(Dimension::Time, 0.0, 1e6);
const LAG: Quantity = quantity(Dimension::Time, 1e-3, 1e4);
const ACCELERATION: Quantity = quantity(Dimension::Acceleration, 1e-6, 1e3);
const RATE: Quantity = quantity(Dimension::Rate, 1e-6, 100.0);
const TANK: Quantity = quantity(Dimension::Volume, 1e-5, 1e4);
const VOLUME: Quantity = quantity(Dimension::Volume, 1e-7, 10.0);
const STORE: Quantity = quantity(Dimension::Length, 0.0, 1e5);
const CROSSHEAD: Quantity = quantity(Dimension::Length, 0.0, 100.0);
const FILM_FLOOR: Quantity = quantity(Dimension::FilmCoefficient, 0.0, 1e6);
const DIAMETER: Quantity = quantity(Dimension::Diameter, 1e-5, 1.0);
const WALL: Quantity = quantity(Dimension::Diameter, 1e-6, 0.5);
const LAY: Quantity = quantity(Dimension::Diameter, 1e-3, 20.0);
const POWER: Quantity = quantity(Dimension::Power, 0.0, 1e7);
const AREA: Quantity = quantity(Dimension::Area, 1e-10, 0.7);
const TEMPERATURE: Quantity = quantity(Dimension::Temperature, -100.0, crate::case::preheat::HIGHEST.0);
const PROPERTY_TEMPERATURE: Quantity = quantity(Dimension::Temperature, -273.15, 1500.0);
const VELOCITY: Quantity = quantity(Dimension::Speed, 0.0, 300.0);
const STIRRED: Quantity = quantity(Dimension::Speed, 0.0, 10.0);
const WATER_FLUX: Quantity = quantity(Dimension::WaterFlux, 1e-3, 100.0);
const FILM: Quantity = quantity(Dimension::FilmCoefficient, 0.1, 1e6);
const LENGTH: Quantity = quantity(Dimension::Length, 1e-3, 1e4);
const DISTANCE: Quantity = quantity(Dimension::Length, 0.0, 1e4);
const OFFSET: Quantity = quantity(Dimension::Length, -1e4, 1e4);
const TOLERANCE: Quantity = quantity(Dimension::TemperatureDifference, 1e-5, 5.0);
/// A temperature's uncertainty.
pub(crate) const SPREAD: Quantity = quantity(Dimension::TemperatureDifference, 0.0, 200.0);
/// What a mode does to a temperature.
pub(crate) const MOVED: Quantity = quantity(Dimension::TemperatureDifference, -200.0, 200.0);
const CONDUCTIVITY: Quantity = quantity(Dimension::Conductivity, 1e-3, 2000.0);
const HEAT_CAPACITY: Quantity = quantity(Dimension::HeatCapacity, 50.0, 1e6);
const SHARE: Quantity = quantity(Dimension::Share, 0.0, 100.0);
const TURN: Quantity = quantity(Dimension::Length, 0.0, 1e3);
const MASS_FLOW: Quantity = quantity(Dimension::MassFlow, 1e-6, 1e4);
const VOLUME_FLOW: Quantity = quantity(Dimension::VolumeFlow, 1e-9, 10.0);
const DENSITY: Quantity = quantity(Dimension::Density, 1.0, 25_000.0);

/// What a key takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Kind {
    /// Any text.
    Text,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// true or false.
    Flag,
    /// One of these words, or a table.
    ChoiceOrTable(&'static [&'static str], Place),
    /// Any texts.
    Texts,
    /// Some of these words.
    Choices(&'static [&'static str]),
    /// A value with its unit.
    Value(Quantity),
    /// A value with its unit, or one of these words.
    ValueOr(Quantity, &'static [&'static str]),
    /// A value with its unit, or a table.
    ValueOrTable(Quantity, Place),
    /// A value in the unit of either.
    Either(Quantity, Quantity),
    /// A bare number within bounds.
    Number(f64, f64),
    /// A bare whole number within bounds.
    Count(i64, i64),
    /// Two values, rising.
    Pair(Quantity),
    /// Pairs of values, the first of each rising.
    Points(Quantity, Quantity),
    /// A property against temperature: a value, points, or a table with either and its source.
    Curve(Quantity),
    /// A property of one value: the value, or a table with it and its source.
    Constant(Quantity),
    /// A property of two values, rising: the two, or a table with them and their source.
    Window(Quantity),
    /// The value or points of a property; what they measure is the property's business.
    CurvePoints,
    /// Values by the names of layers.
    OfLayers(Quantity),
    /// Key paths, each with a temperature difference or a relative number; modes, which are tables of such.
    Bands,
    /// Key paths, each with the values that it takes.
    Axes,
    /// Key paths, each with a distribution.
    Varied,
    /// Key paths, each with its two ends, or a table of them and a step.
    Ranges,
    /// Names of outputs, each with the most that it may be.
    Maxima,
    /// The two ends of a number.
    Ends,
    /// A value of a number, or a difference of two.
    Step,
    /// A table.
    Table(Place),
    /// A list of tables.
    Tables(Place),
    /// Tables by name.
    NamedTables(Place),
}

impl Kind {
    /// The value that it takes, where it takes one.
    pub(crate) fn quantity(self) -> Option<Quantity> {
        match self {
            Kind::Value(quantity)
            | Kind::OfLayers(quantity)
            | Kind::ValueOr(quantity, _)
            | Kind::Either(quantity, _)
            | Kind::ValueOrTable(quantity, _)
            | Kind::Pair(quantity)
            | Kind::Curve(quantity)
            | Kind::Constant(quantity)
            | Kind::Window(quantity) => Some(quantity),
            _ => None,
        }
    }
}

/// One key of the case file.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Key {
    pub(crate) place: Place,
    pub(crate) name: &'static str,
    pub(crate) kind: Kind,
    pub(crate) required: bool,
    /// One line on what it means.
    pub(crate) describes: &'static str,
    /// A value as TOML text.
    pub(crate) example: &'static str,
}

pub(crate) const fn must(
    place: Place,
    name: &'static str,
    kind: Kind,
    example: &'static str,
    describes: &'static str,
) -> Key {
    Key { place, name, kind, required: true, describes, example }
}

pub(crate) const fn may(
    place: Place,
    name: &'static str,
    kind: Kind,
    example: &'static str,
    describes: &'static str,
) -> Key {
    Key { place, name, kind, required: false, describes, example }
}

/// Ways to contract; the first word of each list is what the reader compares with.
pub(crate) const CONTRACTIONS: &[&str] = &["held", "free"];
pub(crate) const DIRECTIONS: &[&str] = &["counter", "along", "mixed"];
/// The words of `programme::End`, in its order.
pub(crate) const ENDS: &[&str] = &["exit", "entry"];
/// What a line does at a full accumulator, in the order of `programme::Full`.
pub(crate) const FULL: &[&str] = &["report", "slow", "stop"];
pub(crate) const OUTPUTS: &[&str] = &["follows", "constant"];
pub(crate) const GEOMETRIES: &[&str] = &["shrinking", "fixed"];
pub(crate) const HAZARDS: &[&str] = &["hydrogen chloride", "hydrogen fluoride", "steam", "peroxide"];
pub(crate) const KINDS: &[&str] = &["plastic", "metal", "laid-up cores"];
pub(crate) const LAWS: &[&str] = &crate::film::NAMES;
/// The words of `case::Aim::ALL`, in its order.
pub(crate) const AIMS: &[&str] = &["fastest", "shortest", "least-void", "cheapest"];
/// Margins by name.
pub(crate) const MARGINS: &[&str] = &["band"];
/// The words of `case::Medium::ALL`, in its order.
pub(crate) const MEDIA: &[&str] = &["air", "water", "spray"];
/// Systems of units, in the order of `units::System`.
pub(crate) const SYSTEMS: &[&str] = &["si", "us"];
/// The words of `case::SettingPoint`, in its order.
pub(crate) const SETTINGS: &[&str] = &["equilibrium", "by-rate"];
pub(crate) const SHAPES: &[&str] = &["round", "flat"];
pub(crate) const STATUSES: &[&str] = &["read", "memory", "derived"];
/// Contacts by name; "perfect" and those of `contacts::CONTACTS`.
pub(crate) const CONTACTS: &[&str] = &["perfect", "pressed", "talc", "tubed"];

/// Temperatures of liquid water, degC.
pub(crate) const LIQUID: [f64; 2] = [0.0, 100.0];

/// The table.
#[rustfmt::skip]
pub(crate) const KEYS: &[Key] = &{
    use Kind::*;
    use Place::*;
    [
        may(Root, "title", Text, "\"2.5 mm2 building wire\"", "what you call this case"),
        may(Root, "units", Choice(SYSTEMS), "\"us\"", "the units in which answers are shown: metric or US; `--units` comes before it"),
        must(Root, "line", Table(Line), "", "the production line"),
        must(Root, "layer", Tables(Layer), "", "the product's layers, from the axis (flat: mid-plane) outward"),
        must(Root, "section", Tables(Section), "", "the line's sections, from the die onward"),
        may(Root, "station", Tables(Station), "", "named places on the line where numbers are wanted and limits hold"),
        may(Root, "accumulator", Tables(Accumulator), "", "stores of product before the take-up or after the pay-off; `drive` uses them"),
        may(Root, "reel_change", Tables(ReelChange), "", "changes of reel at the accumulators, in order; `drive` follows them"),
        may(Root, "material", NamedTables(Material), "", "your own materials; they come before the library's"),
        may(Root, "band", Bands, "{ \"layer.insulation.temperature\" = \"4 K\", \"section.trough.film_factor\" = 0.5 }", "how uncertain inputs are, one standard value each, by key path: a temperature difference for temperatures, a relative number for everything else; band.mode is a list of tables, each what one standard value of a doubt does to several inputs together"),
        may(Root, "vary", Varied, "{ \"layer.insulation.temperature\" = { normal = [\"188 degC\", \"3 K\"] }, \"section.trough.film_factor\" = { log_uniform = [0.5, 2] } }", "numbers that vary, by key path, and how they are distributed: what studies of many samples draw from"),
        may(Root, "plant", Table(Plant), "", "what the plant allows: ceilings that an answer on length or speed respects, and the sections that may grow"),
        may(Root, "stages", Table(Stages), "", "what `stages` looks for: an aim, the numbers that it may set, what must hold"),
        may(Root, "solver", Table(Solver), "", "accuracy and geometry of the computation"),

        must(Line, "speed", Value(SPEED), "\"150 m/min\"", "line speed"),
        may(Line, "starts_at", Value(ANY_SPEED), "\"20 m/min\"", "line speed before the first change; absent: speed"),
        may(Line, "starts_empty", Flag, "true", "whether nothing is on the line when the programme begins"),
        may(Line, "crosshead", Value(CROSSHEAD), "\"0.6 m\"", "conductor from the preheater to the die: scrap of every stop"),
        may(Line, "change", Tables(Change), "", "changes of the line speed, in order; `drive` follows them"),

        must(Change, "name", Text, "\"ramp\"", "what reports call it"),
        may(Change, "after", Value(DURATION), "\"10 s\"", "time at the old speed first; absent: none"),
        must(Change, "to", Value(ANY_SPEED), "\"150 m/min\"", "the new line speed"),
        may(Change, "within", Value(DURATION), "\"60 s\"", "time of an even ramp; 0 s: a jump"),
        may(Change, "rate", Either(ACCELERATION, RATE), "\"30 m/min/s\"", "acceleration of an even ramp, or percents a second: instead of within"),
        may(Change, "hold", Value(DURATION), "\"60 s\"", "time at the new speed; absent: until what leaves the die at the end of the ramp has left the line"),

        must(Layer, "name", Text, "\"insulation\"", "what you call this layer"),
        must(Layer, "material", Text, "\"pvc-insulation\"", "name of a material of the library or of this file"),
        may(Layer, "diameter", Value(DIAMETER), "\"3.42 mm\"", "outer diameter (flat: full thickness) at the die, hot"),
        may(Layer, "finished_diameter", Value(DIAMETER), "\"3.35 mm\"", "outer diameter (flat: full thickness) when everything is at 23 degC"),
        may(Layer, "wall", Value(WALL), "\"0.82 mm\"", "wall (flat: of one side) at the die, hot"),
        may(Layer, "finished_wall", Value(WALL), "\"0.79 mm\"", "wall (flat: of one side) when everything is at 23 degC"),
        may(Layer, "area", Value(AREA), "\"2.5 mm2\"", "geometric area of a solid round conductor; first layer only"),
        may(Layer, "conductor", Text, "\"2.5 mm2 class 1\"", "conductor by IEC 60228 class, gauge or wires, at 23 degC; a round first layer of metal only"),
        may(Layer, "core", Table(Core), "{ cores = 3, conductor = \"2.5 mm2 class 2\", insulation = \"pvc-insulation\", diameter = \"3.4 mm\", lay = \"90 mm\" }", "insulated conductors laid up around each other, at 23 degC; a round first layer only"),
        may(Layer, "bore", Value(DIAMETER), "\"3 mm\"", "diameter (flat: full gap) of a hollow core; first layer only"),
        may(Layer, "temperature", ValueOrTable(TEMPERATURE, SpeedTable), "\"188 degC\"", "temperature at the die, or a table of it against line speed"),
        may(Layer, "preheat_power", Value(POWER), "\"2 kW\"", "power of a preheater, instead of the temperature; a first layer of metal only"),
        may(Layer, "entry_temperature", Value(TEMPERATURE), "\"25 degC\"", "temperature of the conductor before the preheater"),
        may(Layer, "efficiency", Number(0.0, 1.0), "0.8", "share of the preheater's power that the conductor brings to the die"),
        may(Layer, "contact", ValueOr(FILM, CONTACTS), "\"500 W/(m2 K)\"", "thermal contact with the layer inside it; absent: perfect, with a warning"),
        may(Layer, "contraction", Choice(CONTRACTIONS), "\"held\"", "how cooling shrinks it: held in length by a conductor, or free in every direction"),
        may(Layer, "poisson_ratio", Number(0.0, 0.5), "0.4", "Poisson's ratio of a held plastic below its set temperature; absent: 0.5, it goes on contracting as the melt does"),
        may(Layer, "conductivity_factor", Number(0.01, 100.0), "1.0", "multiplier of the material's conductivity"),
        may(Layer, "heat_capacity_factor", Number(0.01, 100.0), "1.0", "multiplier of the material's heat capacity"),
        may(Layer, "setting_shift", Value(MOVED), "\"5 K\"", "how much lower than its curves say a plastic crystallises and sets; with setting = \"by-rate\" beside what the rate gives"),
        may(Layer, "melt_shrink_max", Value(SHARE), "\"10 %\"", "limit: most volume that the melt under the set skin may still have to lose, of the layer's; a plastic that sets"),

        may(Layer, "output", ChoiceOrTable(OUTPUTS, Output), "{ lag = \"4 s\" }", "a melt's output against the line speed in `drive`: in proportion, that of the line speed of the case, or after a lag"),
        may(Layer, "head_volume", Value(VOLUME), "\"0.5 L\"", "melt between screw and die; `drive` tells how long it stays there"),
        may(Layer, "residence_max", Value(DURATION), "\"8 min\"", "limit: longest time of the melt between screw and die, with head_volume"),

        must(Output, "lag", Value(LAG), "\"4 s\"", "time constant with which the output follows the line speed"),

        must(Core, "cores", Number(2.0, 61.0), "3", "how many insulated conductors"),
        must(Core, "conductor", Text, "\"2.5 mm2 class 2\"", "the conductor of each, as that of a layer"),
        must(Core, "insulation", Text, "\"pvc-insulation\"", "material around each of them"),
        must(Core, "diameter", Value(DIAMETER), "\"3.4 mm\"", "diameter of one over its insulation"),
        must(Core, "lay", Value(LAY), "\"90 mm\"", "length of one turn around the axis"),
        may(Core, "filler", Text, "\"air\"", "material in the gaps; absent: air"),

        must(SpeedTable, "speed", Points(SPEED, TEMPERATURE), "[[\"100 m/min\", \"186 degC\"], [\"300 m/min\", \"194 degC\"]]", "pairs of line speed and temperature; linear between, constant outside"),

        must(Section, "name", Text, "\"trough\"", "what you call this section"),
        must(Section, "medium", Choice(MEDIA), "\"water\"", "what surrounds the product"),
        must(Section, "length", Value(LENGTH), "\"18 m\"", "length along the line"),
        may(Section, "temperature", Value(TEMPERATURE), "\"16 degC\"", "temperature of the medium; of water with a flow, at its inlet"),
        may(Section, "film", ValueOrTable(FILM, FilmTable), "\"25 W/(m2 K)\"", "film coefficient, or a table of it; absent: the medium's own law"),
        may(Section, "law", Choice(LAWS), "\"cross-air\"", "a named film law instead of the medium's own; `quenchway films` lists them"),
        may(Section, "velocity", Value(VELOCITY), "\"20 m/s\"", "speed of the air or water at the product, across it or against its travel, for laws that take it"),
        may(Section, "water_flux", Value(WATER_FLUX), "\"0.5 L/(m2 s)\"", "water that arrives at the product's surface, for laws that take it"),
        may(Section, "stirred", Value(STIRRED), "\"0.1 m/s\"", "how fast the trough's water moves past or across the product, besides the line; for laws that take it; absent: at rest"),
        may(Section, "film_lean", Number(-10.0, 10.0), "-1", "where in the band of its law the film lies: 0 the law itself, -1 the low end, 1 the high end; for laws of a moving product"),
        may(Section, "film_factor", Number(0.01, 100.0), "1.0", "multiplier of the film coefficient"),
        may(Section, "emissivity", Number(0.0, 1.0), "0.9", "emissivity of the surface; air only; absent: 0.94, or 0 when a film is given"),

        may(Section, "wetted", Number(0.01, 1.0), "0.5", "part of the circumference that the water touches, in the water or under jets; absent: it touches all round"),
        may(Section, "poured", Flag, "true", "whether streams from above run down the product: the film is then the mean around it"),
        may(Section, "one_sided", Number(1.0, 50.0), "3", "film on the side of the jets over that on the far side; the film is then the mean around it"),
        may(Section, "turning", Flag, "true", "whether the product turns about its axis, so that the mean around it counts"),
        may(Section, "dry_film", Value(FILM), "\"12 W/(m2 K)\"", "film coefficient where no water touches, radiation included; absent: the law of air, with radiation"),

        may(Section, "flow", Either(VOLUME_FLOW, MASS_FLOW), "\"60 L/min\"", "water flow, whose temperature then follows the heat; absent: it stays at its temperature"),
        may(Section, "direction", Choice(DIRECTIONS), "\"counter\"", "which way the water flows: against the product, along it, or mixed to one temperature; absent: counter"),
        may(Section, "supply", Text, "\"trough 2\"", "name of the section whose outlet feeds this one, instead of temperature and flow"),
        may(Section, "passes", Count(1, 100), "3", "how often the product passes through; absent: once"),
        may(Section, "turn", Value(TURN), "\"0.8 m\"", "length of product in the air between two passes"),
        may(Section, "turn_temperature", Value(TEMPERATURE), "\"28 degC\"", "temperature of that air; absent: that of the nearest air section, or 25 degC"),

        may(Section, "film_exponent", Number(0.0, 2.0), "0.8", "a given film in `drive`: it goes with this power of the line speed; absent: 0, the same at every speed"),
        may(Section, "film_floor", Value(FILM_FLOOR), "\"900 W/(m2 K)\"", "a given film in `drive`: it is no lower than this at low speed and at a standstill"),
        may(Section, "time_max", Value(DURATION), "\"60 s\"", "limit in `drive`: longest time that product may spend in the section"),
        may(Section, "volume", Value(TANK), "\"540 L\"", "water in the tank, with flow and direction = \"mixed\": `drive` \
                                                          then follows its temperature; absent: `drive` states both ends of \
                                                          it"),

        may(FilmTable, "surface", Points(TEMPERATURE, FILM), "[[\"20 degC\", \"8 W/(m2 K)\"], [\"200 degC\", \"18 W/(m2 K)\"]]", "pairs of surface temperature and film coefficient; linear between, constant outside"),
        may(FilmTable, "distance", Points(DISTANCE, FILM), "[[\"0 m\", \"3800 W/(m2 K)\"], [\"4 m\", \"1500 W/(m2 K)\"]]", "pairs of distance from the section's entry and film coefficient; linear between, constant outside"),

        must(Station, "name", Text, "\"capstan\"", "what you call this place"),
        must(Station, "after", Text, "\"to capstan\"", "name of the section at whose end it stands"),
        may(Station, "offset", Value(OFFSET), "\"-0.2 m\"", "distance from that end along the line; negative: before it"),
        may(Station, "surface_max", Value(TEMPERATURE), "\"45 degC\"", "highest allowed surface temperature"),
        may(Station, "core_max", Value(TEMPERATURE), "\"60 degC\"", "highest allowed temperature of the axis or inner surface"),
        may(Station, "mean_max", Value(TEMPERATURE), "\"60 degC\"", "highest allowed mass mean of the plastic"),
        may(Station, "hottest_max", Value(TEMPERATURE), "\"70 degC\"", "highest allowed temperature anywhere in the plastic, that inside laid-up cores included"),
        may(Station, "equalised_max", Value(TEMPERATURE), "\"50 degC\"", "highest allowed adiabatic mix of the product"),
        may(Station, "layer_max", OfLayers(TEMPERATURE), "{ jacket = \"90 degC\", \"laid-up cores\" = \"70 degC\" }", "highest allowed temperature anywhere in a layer, by the layer's name"),

        may(Station, "diameter_min", Value(DIAMETER), "\"3.32 mm\"", "smallest allowed outer diameter (flat: thickness), hot as the station sees it"),
        may(Station, "diameter_max", Value(DIAMETER), "\"3.52 mm\"", "largest allowed outer diameter (flat: thickness), hot as the station sees it"),
        may(Station, "contact", Value(DISTANCE), "\"1.5 m\"", "product that lies on a wheel from here on: in `drive` the largest value on it counts"),

        must(Accumulator, "name", Text, "\"exit\"", "what reports call it"),
        must(Accumulator, "place", Choice(ENDS), "\"exit\"", "before the take-up or after the pay-off"),
        must(Accumulator, "capacity", Value(STORE), "\"150 m\"", "length of product that it holds"),
        may(Accumulator, "content", Value(STORE), "\"10 m\"", "content at the start, and what it returns to; absent: the exit's reserve, or all that the entry's reserve leaves"),
        may(Accumulator, "reserve", Value(STORE), "\"5 m\"", "never used: room at the exit, product at the entry; absent: none"),
        may(Accumulator, "full", Choice(FULL), "\"slow\"", "what the line does when no room is left (at the entry: no product); absent: report"),
        may(Accumulator, "brake", Value(ACCELERATION), "\"6 m/min/s\"", "how the line brakes and starts then"),

        must(ReelChange, "accumulator", Text, "\"exit\"", "name of the accumulator that bridges it"),
        must(ReelChange, "at", Value(DURATION), "\"30 s\"", "when the reel begins to brake, from the start of the programme"),
        must(ReelChange, "brake", Value(DURATION), "\"6 s\"", "time in which the reel brakes"),
        must(ReelChange, "standstill", Value(DURATION), "\"40 s\"", "time for which it stands"),
        must(ReelChange, "start", Value(DURATION), "\"10 s\"", "time in which the new reel starts"),
        must(ReelChange, "catch_up", Number(0.001, 10.0), "0.15", "by what share the new reel runs faster than the line until the content is back"),

        may(Material, "describes", Text, "\"soft PVC for building wire\"", "one line on what it is"),
        must(Material, "kind", Choice(KINDS), "\"plastic\"", "plastic or metal; or laid-up cores as one round body"),
        must(Material, "conductivity", Curve(CONDUCTIVITY), "\"0.17 W/(m K)\"", "thermal conductivity: one value, or pairs of temperature and value"),
        must(Material, "heat_capacity", Curve(HEAT_CAPACITY), "\"1500 J/(kg K)\"", "heat capacity: one value, or pairs of temperature and value; a peak is latent heat"),
        must(Material, "density", Curve(DENSITY), "\"1380 kg/m3\"", "density: one value, or pairs of temperature and value"),
        may(Material, "set_temperature", Constant(TEMPERATURE), "\"80 degC\"", "a plastic holds its shape below it"),
        may(Material, "range", Pair(PROPERTY_TEMPERATURE), "[\"0 degC\", \"200 degC\"]", "temperatures between which the curves are meant to be used"),
        may(Material, "hazards", Choices(HAZARDS), "[\"hydrogen chloride\"]", "what it gives off or does when mistreated"),
        may(Material, "melt", Window(TEMPERATURE), "[\"175 degC\", \"200 degC\"]", "melt temperatures between which a plastic is usually extruded"),
        may(Material, "uncertainty", Table(Uncertainty), "{ conductivity = 0.1, heat_capacity = 0.1, density = 0.02 }", "one standard value of each property's uncertainty, relative"),

        must(Property, "points", CurvePoints, "[[\"0 degC\", \"0.165 W/(m K)\"], [\"200 degC\", \"0.17 W/(m K)\"]]", "one value, or pairs of temperature and value"),
        may(Property, "source", Text, "\"data sheet of the compound\"", "where the values come from"),
        may(Property, "status", Choice(STATUSES), "\"read\"", "read in the source, quoted from memory, or derived from other values"),
        may(Property, "doubt", Text, "\"grade not stated\"", "what may be wrong with them"),

        may(Uncertainty, "conductivity", Number(0.0, 1.0), "0.1", "of the conductivity; absent: 0.15 for a plastic, 0.03 for a metal"),
        may(Uncertainty, "heat_capacity", Number(0.0, 1.0), "0.1", "of the heat capacity; absent: 0.10 for a plastic, 0.02 for a metal"),
        may(Uncertainty, "density", Number(0.0, 1.0), "0.02", "of the density; absent: 0.03 for a plastic, 0.01 for a metal"),
        may(Uncertainty, "source", Text, "\"spread of our own trials\"", "where they come from"),
        may(Uncertainty, "status", Choice(STATUSES), "\"derived\"", "read in the source, quoted from memory, or derived from other values"),
        may(Uncertainty, "doubt", Text, "\"three trials only\"", "what may be wrong with them"),

        may(Plant, "adjustable", Texts, "[\"trough\"]", "names of the sections that may grow; several share the growth in proportion to their lengths"),
        may(Plant, "module", Value(LENGTH), "\"3 m\"", "sections are built of whole modules of this length"),
        may(Plant, "hall_max", Value(LENGTH), "\"60 m\"", "longest floor length that the hall holds, from the die to the last device; passes side by side count once"),
        may(Plant, "compound_max", Value(MASS_FLOW), "\"180 kg/h\"", "most plastic that the extruders give, all together"),
        may(Plant, "chiller_max", Value(POWER), "\"40 kW\"", "most heat that the chiller removes from the water"),
        may(Plant, "water_out_max", Value(TEMPERATURE), "\"30 degC\"", "warmest water that may leave a section"),
        may(Plant, "ramp_max", Value(ACCELERATION), "\"30 m/min/s\"", "fastest change of the line speed that drives and tension allow"),

        must(Stages, "aim", Choice(AIMS), "\"fastest\"", "what is to be best: the fastest line, the least length of trough, the least melt under a set skin, the least cost"),
        must(Stages, "vary", Ranges, "{ \"line.speed\" = [\"28 m/min\", \"60 m/min\"] }", "the numbers that the search may set, by key path: lowest and highest value of each; one to six of them"),
        may(Stages, "rest", Text, "\"cold trough\"", "name of the section that takes what the others leave of line_length"),
        may(Stages, "line_length", Value(LENGTH), "\"61.4 m\"", "length of the line from the die to its end, with rest; absent: that of the case"),
        may(Stages, "margin", ValueOr(SPREAD, MARGINS), "\"12 K\"", "what stays to spare below every limit of a station; band: as much as the uncertainty of the inputs may add; absent: nothing"),
        may(Stages, "limits", Maxima, "{ \"insulation.melt_shrink\" = \"10 %\" }", "the most that outputs may be, by name, beside the limits of the stations and the ceilings of the plant"),
        may(Stages, "cost", Table(Prices), "{ chiller = \"0.06 /kWh\" }", "the user's own prices, in any money; cheapest needs them"),

        must(Ranged, "range", Ends, "[\"4 m\", \"45 m\"]", "lowest and highest value"),
        may(Ranged, "step", Step, "\"0.5 m\"", "what it goes in steps of; a length is a whole multiple of it; absent: any value"),

        may(Prices, "chiller", Text, "\"0.06 /kWh\"", "of the heat that all water takes up"),
        may(Prices, "heating", Text, "\"0.10 /kWh\"", "of the heat that warms the product in the water and a metal layer before the die"),
        may(Prices, "metre", Text, "\"0.4 /h\"", "of a metre of trough"),
        may(Prices, "speed_worth", Text, "\"1.2 /h\"", "what each m/min of line speed is worth"),

        may(Solver, "tolerance", Value(TOLERANCE), "\"0.01 K\"", "largest error wanted of every reported temperature"),
        may(Solver, "setting", Choice(SETTINGS), "\"by-rate\"", "where plastics set: as their curves say, or lower by their cooling rate; absent: equilibrium"),
        may(Solver, "geometry", Choice(GEOMETRIES), "\"shrinking\"", "whether the radii follow the density"),
        may(Solver, "shape", Choice(SHAPES), "\"round\"", "round product, or flat product cooled on both faces"),
    ]
};

/// Ways to combine the axes.
pub(crate) const METHODS: &[&str] = &["grid", "sobol", "latin-hypercube", "random"];
/// Most samples of a sweep.
pub const MOST_SAMPLES: u64 = 1_000_000_000_000;
/// The names of the fields that a study may ask for.
pub const FIELDS: &[&str] = &[
    "temperature",
    "surface_temperature",
    "core_temperature",
    "mean_temperature",
    "hottest_plastic_temperature",
    "diameter",
    "medium_temperature",
    "film_coefficient",
    "heat_flux",
];

/// The keys of a study file.
#[rustfmt::skip]
const OF_STUDY: &[Key] = &[
    may(Place::Study, "title", Kind::Text, "\"speed and length of the house wire\"", "what you call this study"),
    must(Place::Study, "case", Kind::Text, "\"../house-wire.toml\"", "the base case: a path from the study file's directory"),
    may(Place::Study, "method", Kind::Choice(METHODS), "\"grid\"", "how the axes are combined; absent: grid"),
    may(Place::Study, "samples", Kind::Count(1, MOST_SAMPLES as i64), "65536", "how many samples are laid out; not with a grid"),
    may(Place::Study, "seed", Kind::Count(0, 1 << 53), "1", "what the samples start from: another seed, other samples; absent: 1"),
    must(Place::Study, "outputs", Kind::Texts, "[\"capstan.core\", \"shrink.to_finished\"]", "numbers to keep of every sample, by name"),
    may(Place::Study, "fields", Kind::Choices(FIELDS), "[\"temperature\"]", "fields along the line to keep of every sample"),
    may(Place::Study, "block", Kind::Count(1, 1_000_000), "1000", "samples in a block: what an interrupted sweep loses at most, a worker; absent: by the number of samples"),
    must(Place::Study, "vary", Kind::Axes, "{ \"line.speed\" = { from = \"100 m/min\", to = \"300 m/min\", points = 20 } }", "the numbers of the case that vary, by key path"),
];

/// Temperatures of property tables.
pub(crate) const PROPERTY_POINT: Quantity = PROPERTY_TEMPERATURE;

/// The keys of a place.
pub(crate) fn of(place: Place) -> impl Iterator<Item = &'static Key> {
    let keys = if place == Place::Study { OF_STUDY } else { KEYS };
    keys.iter().filter(move |key| key.place == place)
}

/// A key by name.
pub(crate) fn find(place: Place, name: &str) -> Option<&'static Key> {
    of(place).find(|key| key.name == name)
}

/// A key as it stands in a file: `speed`, `[line]`, `[[layer]]`.
pub(crate) fn head(key: &Key) -> String {
    match key.kind {
        Kind::Table(_) => format!("[{}]", key.name),
        Kind::Tables(_) if key.place == Place::Line => format!("[[line.{}]]", key.name),
        Kind::Tables(_) => format!("[[{}]]", key.name),
        Kind::NamedTables(_) => format!("[{}.NAME]", key.name),
        _ => key.name.to_string(),
    }
}

/// What the number of a key measures (nothing for a bare number) and its bounds; none where the key takes no number.
pub(crate) fn number(place: Place, name: &str) -> Option<(Option<Dimension>, [f64; 2])> {
    match find(place, name)?.kind {
        Kind::Number(low, high) => Some((None, [low, high])),
        Kind::Count(low, high) => Some((None, [low as f64, high as f64])),
        kind => kind.quantity().map(|quantity| (Some(quantity.dimension), [quantity.low, quantity.high])),
    }
}

/// As `number`, of the second quantity of a key that takes either of two.
pub(crate) fn second_number(place: Place, name: &str) -> Option<(Option<Dimension>, [f64; 2])> {
    match find(place, name)?.kind {
        Kind::Either(_, quantity) => Some((Some(quantity.dimension), [quantity.low, quantity.high])),
        _ => None,
    }
}

/// Whether a place has a key of this name.
pub(crate) fn known(place: Place, name: &str) -> bool {
    find(place, name).is_some()
}
