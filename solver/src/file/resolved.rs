//! The case written back as a case file: library materials and defaults written out.

mod materials;
mod programme;
mod stages;
mod writer;

pub use materials::material;

use writer::Writer;

use crate::case::programme::Output as MeltOutput;
use crate::case::{
    Case, CaseFile, Contact, Contraction, DieTemperature, Direction, Flow, Geometry, Layer, Medium, Plant, Quantity,
    Section, SettingPoint, Shape, Size, Station, Varied,
};
use crate::file::vary;
use crate::film::{Film, Inputs, Law, Pattern, Wetting, default_law};
use crate::names::key_path::KeyPath;
use crate::units::hidden::quoted as text;
use crate::units::words::key as step;
use crate::units::{Dimension, System};

/// The case as a case file in SI, which reads back as the same case.
///
/// Only what was assumed does not come back: it is written out, and no longer an assumption.
///
/// ```
/// # let text = r#"
/// # line.speed = "150 m/min"
/// # [[layer]]
/// # name = "wire"
/// # material = "steel"
/// # diameter = "2 mm"
/// # [[section]]
/// # name = "trough"
/// # medium = "water"
/// # length = "5 m"
/// # temperature = "20 degC"
/// # [material.steel]
/// # kind = "metal"
/// # conductivity = "50 W/(m K)"
/// # heat_capacity = "480 J/(kg K)"
/// # density = "7.85 g/cm3"
/// # "#;
/// let case = quenchway::file::read(text).unwrap();
/// let written = quenchway::file::resolved::resolved(&case);
/// assert!(written.contains("density = \"7850 kg/m3\""));
/// let again = quenchway::file::read(&written).unwrap();
/// assert_eq!(again.line_speed, case.line_speed);
/// ```
pub fn resolved(case: &CaseFile) -> String {
    resolved_in(case, System::Si)
}

/// The case as a case file in the units of a system; US units are rounded to six digits where they do not come out even.
pub fn resolved_in(case: &CaseFile, system: System) -> String {
    let mut writer = Writer::new(system);
    writer.comment("The case as it is computed: defaults and library materials written out.");
    for assumption in &case.assumptions {
        writer.comment(&format!("Assumed: {assumption}"));
    }
    writer.key("title", text(&case.title));
    writer.key("units", text(if case.units == System::Us { "us" } else { "si" }));
    writer.head("[line]");
    writer.value("speed", case.line_speed, Dimension::Speed);
    writer.changes(&case.programme);
    for (index, layer) in case.layers.iter().enumerate() {
        writer.layer(layer, index == 0, case.bore);
        if let DieTemperature::Preheated(_) = layer.temperature {
            let reached =
                writer.quantity((case.die_temperature(index).0 * 10.0).round() / 10.0, Dimension::Temperature);
            writer.comment(&format!("{} at the die at this line speed", reached.trim_matches('"')));
        }
    }
    for section in &case.sections {
        writer.section(section, case);
    }
    for station in &case.stations {
        writer.station(station, case);
    }
    writer.reels(&case.programme);
    let mut written: Vec<&str> = Vec::new();
    for material in case.layers.iter().map(|layer| &layer.material) {
        if !written.contains(&material.name.as_str()) {
            written.push(&material.name);
            writer.material(material);
        }
    }
    if !case.bands.is_empty() {
        writer.head("[band]");
    }
    for band in &case.bands {
        match band.varied {
            Varied::Kelvin => writer.value(&text(&band.input), band.high_end, Dimension::TemperatureDifference),
            // 1 + r - 1 is r but for rounding.
            Varied::Factor | Varied::Conductance | Varied::Lean | Varied::Mode => {
                writer.key(&text(&band.input), ((band.high_end - 1.0) * 1e12).round() / 1e12);
            }
        }
    }
    for mode in &case.modes {
        writer.head("[[band.mode]]");
        for one in &mode.moves {
            match KeyPath::find(case, &one.input).is_ok_and(|variable| variable.is_temperature()) {
                true => writer.value(&text(&one.input), one.amount, Dimension::TemperatureDifference),
                false => writer.key(&text(&one.input), one.amount),
            }
        }
    }
    if !case.vary.is_empty() {
        writer.head("[vary]");
    }
    for varying in &case.vary {
        let dimension = KeyPath::find(case, &varying.input).ok().and_then(|variable| variable.dimension);
        writer.key(&text(&varying.input), vary::written(&varying.distribution, dimension, system));
    }
    writer.plant(&case.plant, &case.sections);
    writer.stages(case);
    writer.head("[solver]");
    writer.value("tolerance", case.tolerance, Dimension::TemperatureDifference);
    if case.setting == SettingPoint::ByRate {
        writer.key("setting", text("by-rate"));
    }
    let geometry = match case.geometry {
        Geometry::Shrinking => "shrinking",
        Geometry::Fixed => "fixed",
    };
    writer.key("geometry", text(geometry));
    let shape = match case.shape {
        Shape::Round => "round",
        Shape::Flat => "flat",
    };
    writer.key("shape", text(shape));
    writer.text
}

impl Writer {
    fn layer(&mut self, layer: &Layer, first: bool, bore: f64) {
        self.head("[[layer]]");
        self.key("name", text(&layer.name));
        self.key("material", text(&layer.material.name));
        if first && bore > 0.0 {
            self.value("bore", bore, Dimension::Diameter);
        }
        match layer.size {
            Size::Diameter(size) => self.value("diameter", size, Dimension::Diameter),
            Size::FinishedDiameter(size) => self.value("finished_diameter", size, Dimension::Diameter),
            Size::Wall(size) => self.value("wall", size, Dimension::Diameter),
            Size::FinishedWall(size) => self.value("finished_wall", size, Dimension::Diameter),
        }
        match &layer.temperature {
            DieTemperature::Fixed(temperature) => self.value("temperature", temperature.0, Dimension::Temperature),
            DieTemperature::OfSpeed(points) => {
                let points = self.points(points, Dimension::Speed, Dimension::Temperature);
                self.key("temperature", format_args!("{{ speed = {points} }}"));
            }
            DieTemperature::Preheated(preheat) => {
                self.value("preheat_power", preheat.power, Dimension::Power);
                self.value("entry_temperature", preheat.entry_temperature.0, Dimension::Temperature);
                self.key("efficiency", preheat.efficiency);
            }
        }
        if !first {
            match layer.contact {
                Contact::Perfect => self.key("contact", text("perfect")),
                Contact::Conductance(conductance) => self.value("contact", conductance, Dimension::FilmCoefficient),
            }
        }
        let contraction = match layer.contraction {
            Contraction::Held => "held",
            Contraction::Free => "free",
        };
        self.key("contraction", text(contraction));
        if layer.poisson_ratio < 0.5 {
            self.key("poisson_ratio", layer.poisson_ratio);
        }
        self.key("conductivity_factor", layer.conductivity_factor);
        self.key("heat_capacity_factor", layer.heat_capacity_factor);
        if layer.setting_shift != 0.0 {
            self.value("setting_shift", layer.setting_shift, Dimension::TemperatureDifference);
        }
        if let Some(most) = layer.melt_shrink_max {
            self.value("melt_shrink_max", most, Dimension::Share);
        }
        match layer.feed.output {
            MeltOutput::Follows => {}
            MeltOutput::Constant => self.key("output", text("constant")),
            MeltOutput::Lag(lag) => {
                let lag = self.quantity(lag, Dimension::Time);
                self.key("output", format_args!("{{ lag = {lag} }}"));
            }
        }
        self.values(&[
            ("head_volume", layer.feed.head_volume, Dimension::Volume),
            ("residence_max", layer.feed.residence_max, Dimension::Time),
        ]);
    }

    fn water(&mut self, section: &Section, sections: &[Section]) {
        let Some(water) = section.circulation else { return };
        match (section.supply.and_then(|feeder| sections.get(feeder)), water.flow) {
            (Some(feeder), _) => self.key("supply", text(&feeder.name)),
            (None, Flow::Volume(flow)) => self.value("flow", flow, Dimension::VolumeFlow),
            (None, Flow::Mass(flow)) => self.value("flow", flow, Dimension::MassFlow),
        }
        let direction = match water.direction {
            Direction::Along => "along",
            Direction::Counter => "counter",
            Direction::Mixed => "mixed",
        };
        self.key("direction", text(direction));
    }

    fn wetting(&mut self, section: &Section) {
        let Wetting { pattern, turning, dry_film } = section.wetting;
        match pattern {
            Pattern::AllRound => {}
            Pattern::Part(part) => self.key("wetted", part),
            Pattern::Poured => self.key("poured", true),
            Pattern::OneSided(ratio) => self.key("one_sided", ratio),
        }
        if turning {
            self.key("turning", true);
        }
        if let Some(film) = dry_film {
            self.value("dry_film", film, Dimension::FilmCoefficient);
        }
    }

    fn section(&mut self, section: &Section, case: &Case) {
        let sections = &case.sections[..];
        self.head("[[section]]");
        self.key("name", text(&section.name));
        self.key("medium", text(section.medium.name()));
        self.value("length", section.length, Dimension::Length);
        if section.supply.is_none() {
            self.value("temperature", section.temperature.0, Dimension::Temperature);
        }
        match &section.film {
            Film::Law(law, inputs) => self.law(law, inputs, section.medium),
            Film::Given(film) => self.value("film", *film, Dimension::FilmCoefficient),
            Film::OfSurface(points) => {
                let points = self.points(points, Dimension::Temperature, Dimension::FilmCoefficient);
                self.key("film", format_args!("{{ surface = {points} }}"));
            }
            Film::OfDistance(points) => {
                let points = self.points(points, Dimension::Length, Dimension::FilmCoefficient);
                self.key("film", format_args!("{{ distance = {points} }}"));
            }
        }
        if section.film_exponent > 0.0 {
            self.key("film_exponent", section.film_exponent);
        }
        if section.film_floor > 0.0 {
            self.value("film_floor", section.film_floor, Dimension::FilmCoefficient);
        }
        self.key("film_factor", section.film_factor);
        if section.medium == Medium::Air {
            self.key("emissivity", section.emissivity);
        }
        self.wetting(section);
        self.water(section, sections);
        if section.passes > 1 || section.turn.length > 0.0 {
            self.key("passes", section.passes);
            self.value("turn", section.turn.length, Dimension::Length);
            self.value("turn_temperature", section.turn.temperature.0, Dimension::Temperature);
        }
        self.values(&[("time_max", section.time_max, Dimension::Time), ("volume", section.volume, Dimension::Volume)]);
    }

    fn law(&mut self, law: &Law, inputs: &Inputs, medium: Medium) {
        // The medium's own law is the one that an absent film means.
        if law.name == default_law(medium).name {
            self.comment(&format!("film by the medium's own law, {}", law.name));
        } else {
            self.key("law", text(law.name));
        }
        // What a law may be told and was not is zero.
        let told = law.keys().filter(|input| law.takes.contains(input) || input.of(inputs) != 0.0);
        for input in told.collect::<Vec<_>>() {
            match input.dimension() {
                Some(dimension) => self.value(input.key(), input.of(inputs), dimension),
                None => self.key(input.key(), input.of(inputs)),
            }
        }
    }

    fn station(&mut self, station: &Station, case: &CaseFile) {
        self.head("[[station]]");
        self.key("name", text(&station.name));
        if let Some(section) = case.sections.get(station.after) {
            self.key("after", text(&section.name));
        }
        self.value("offset", station.offset, Dimension::Length);
        let mut of_layers = Vec::new();
        for limit in &station.limits {
            match limit.quantity {
                Quantity::Layer(index) => {
                    let max = self.quantity(limit.max.0, Dimension::Temperature);
                    of_layers.push(format!("{} = {max}", step(case.layer_name(index))));
                }
                quantity => self.value(&quantity.limit(case), limit.max.0, Dimension::Temperature),
            }
        }
        if !of_layers.is_empty() {
            self.key("layer_max", format_args!("{{ {} }}", of_layers.join(", ")));
        }
        let contact = (station.contact > 0.0).then_some(station.contact);
        self.values(&[
            ("diameter_min", station.diameter_min, Dimension::Diameter),
            ("diameter_max", station.diameter_max, Dimension::Diameter),
            ("contact", contact, Dimension::Length),
        ]);
    }

    fn plant(&mut self, plant: &Plant, sections: &[Section]) {
        if *plant == Plant::default() {
            return;
        }
        self.head("[plant]");
        let names: Vec<String> = plant
            .adjustable
            .iter()
            .filter_map(|&index| sections.get(index))
            .map(|section| text(&section.name))
            .collect();
        if !names.is_empty() {
            self.key("adjustable", format_args!("[{}]", names.join(", ")));
        }
        let water_out_max = plant.water_out_max.map(|celsius| celsius.0);
        self.values(&[
            ("module", plant.module, Dimension::Length),
            ("hall_max", plant.hall_max, Dimension::Length),
            ("compound_max", plant.compound_max, Dimension::MassFlow),
            ("chiller_max", plant.chiller_max, Dimension::Power),
            ("water_out_max", water_out_max, Dimension::Temperature),
            ("ramp_max", plant.ramp_max, Dimension::Acceleration),
        ]);
    }
}
