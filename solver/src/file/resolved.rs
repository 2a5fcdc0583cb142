//! The case written back as a case file: library materials and defaults written out.

use std::fmt::Write;

use crate::case::programme::{Full, Output as MeltOutput, Programme, Ramp};
use crate::case::{
    Case, CaseFile, Contact, Contraction, DieTemperature, Direction, Flow, Geometry, Layer, Margin, Medium, Plant,
    Quantity, Section, SettingPoint, Shape, Size, Station, Varied,
};
use crate::file::hazard_word;
use crate::file::stages::{HOUR, KILOWATT_HOUR};
use crate::file::vary;
use crate::film::{Film, Inputs, Law, Pattern, Wetting, default_law};
use crate::march::output::Output;
use crate::material::{Curve, Kind, Material, Uncertainty};
use crate::names::key_path::KeyPath;
use crate::units::hidden::{is_hidden, quoted as text};
use crate::units::words::key as step;
use crate::units::{Dimension, System, write};

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
    let mut writer = Writer { text: String::new(), system };
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

/// A material as a table of a case file, in SI.
///
/// ```
/// let pvc = quenchway::file::library::find("pvc-insulation").unwrap();
/// assert!(quenchway::file::resolved::material(&pvc).starts_with("[material.pvc-insulation]\nkind = \"plastic\"\n"));
/// ```
pub fn material(material: &Material) -> String {
    let mut writer = Writer { text: String::new(), system: System::Si };
    writer.material(material);
    writer.text.trim_start().to_string()
}

/// The file so far.
struct Writer {
    text: String,
    system: System,
}

impl Writer {
    fn line(&mut self, line: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = writeln!(self.text, "{line}");
    }

    fn comment(&mut self, comment: &str) {
        let one_line: String = comment.chars().map(|c| if is_hidden(c) { ' ' } else { c }).collect();
        self.line(format_args!("# {one_line}"));
    }

    fn head(&mut self, head: &str) {
        self.line(format_args!("\n{head}"));
    }

    fn key(&mut self, key: &str, value: impl std::fmt::Display) {
        self.line(format_args!("{key} = {value}"));
    }

    fn quantity(&self, value: f64, dimension: Dimension) -> String {
        format!("\"{}\"", write(value, dimension, self.system))
    }

    fn value(&mut self, key: &str, value: f64, dimension: Dimension) {
        let value = self.quantity(value, dimension);
        self.key(key, value);
    }

    /// Those that are given.
    fn values(&mut self, values: &[(&str, Option<f64>, Dimension)]) {
        for &(key, value, dimension) in values {
            if let Some(value) = value {
                self.value(key, value, dimension);
            }
        }
    }

    /// Points on one line each, but a few on one line together.
    fn points(&self, points: &[[f64; 2]], x: Dimension, y: Dimension) -> String {
        const FEW: usize = 3;
        let pairs: Vec<String> = points
            .iter()
            .map(|point| format!("[{}, {}]", self.quantity(point[0], x), self.quantity(point[1], y)))
            .collect();
        if pairs.len() <= FEW {
            format!("[{}]", pairs.join(", "))
        } else {
            format!("[\n    {},\n]", pairs.join(",\n    "))
        }
    }

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

    /// What a programme adds to `[line]`.
    fn changes(&mut self, programme: &Programme) {
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
    fn reels(&mut self, programme: &Programme) {
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

    fn stages(&mut self, case: &CaseFile) {
        let Some(stages) = &case.stages else { return };
        self.head("[stages]");
        self.key("aim", text(stages.aim.word()));
        if let Some((rest, section)) = stages.rest.and_then(|rest| Some((rest, case.sections.get(rest.section)?))) {
            self.key("rest", text(&section.name));
            self.value("line_length", rest.line_length, Dimension::Length);
        }
        match stages.margin {
            Margin::Kelvin(margin) => self.value("margin", margin, Dimension::TemperatureDifference),
            Margin::Band => self.key("margin", text("band")),
        }
        self.head("[stages.vary]");
        for ranged in &stages.vary {
            let Ok(variable) = KeyPath::find(case, &ranged.input) else { continue };
            let of = |value: f64, dimension: Option<Dimension>| match dimension {
                Some(dimension) => self.quantity(value, dimension),
                None => format!("{value}"),
            };
            let ends = format!("[{}, {}]", of(ranged.low, variable.dimension), of(ranged.high, variable.dimension));
            let difference = match variable.dimension {
                Some(Dimension::Temperature) => Some(Dimension::TemperatureDifference),
                other => other,
            };
            let value = match ranged.step {
                Some(step) => format!("{{ range = {ends}, step = {} }}", of(step, difference)),
                None => ends,
            };
            self.key(&text(&ranged.input), value);
        }
        if !stages.limits.is_empty() {
            self.head("[stages.limits]");
        }
        for limit in &stages.limits {
            let output = Output::find(case, &limit.output).ok();
            let dimension = output.and_then(|output| output.dimension).unwrap_or(Dimension::Share);
            self.value(&text(&limit.output), limit.max, dimension);
        }
        if let Some(prices) = stages.prices {
            self.head("[stages.cost]");
            // Ten digits: what was read and divided comes back as it was written.
            let mut price = |key: &str, number: f64, unit: &str| {
                let number: f64 = format!("{number:.9e}").parse().unwrap_or(number);
                self.key(key, text(&format!("{number} {unit}")));
            };
            price("chiller", prices.chiller * KILOWATT_HOUR, "/kWh");
            price("heating", prices.heating * KILOWATT_HOUR, "/kWh");
            price("metre", prices.metre * HOUR, "/h");
            price("speed_worth", prices.speed_worth * HOUR / 60.0, "/h");
        }
    }

    fn material(&mut self, material: &Material) {
        self.head(&format!("[material.{}]", step(&material.name)));
        let kind = match material.kind {
            Kind::Plastic => "plastic",
            Kind::Metal => "metal",
            Kind::LaidUp => "laid-up cores",
        };
        self.key("kind", text(kind));
        self.curve("conductivity", &material.conductivity, Dimension::Conductivity);
        self.curve("heat_capacity", &material.heat_capacity, Dimension::HeatCapacity);
        self.curve("density", &material.density, Dimension::Density);
        if let Some(set) = material.set_temperature {
            self.value("set_temperature", set.0, Dimension::Temperature);
        }
        let [low, high] = material.range.map(|end| self.quantity(end.0, Dimension::Temperature));
        self.key("range", format_args!("[{low}, {high}]"));
        if !material.hazards.is_empty() {
            let words: Vec<String> = material.hazards.iter().map(|hazard| text(hazard_word(*hazard))).collect();
            self.key("hazards", format_args!("[{}]", words.join(", ")));
        }
        if let Some(melt) = material.melt {
            let [low, high] = melt.map(|end| self.quantity(end.0, Dimension::Temperature));
            self.key("melt", format_args!("[{low}, {high}]"));
        }
        let Uncertainty { conductivity, heat_capacity, density } = material.uncertainty;
        self.key(
            "uncertainty",
            format_args!("{{ conductivity = {conductivity}, heat_capacity = {heat_capacity}, density = {density} }}"),
        );
    }

    fn curve(&mut self, key: &str, curve: &Curve, dimension: Dimension) {
        match curve.points() {
            [point] => self.value(key, point[1], dimension),
            points => {
                let points = self.points(points, Dimension::Temperature, dimension);
                self.key(key, points);
            }
        }
    }
}
