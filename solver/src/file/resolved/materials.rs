//! A material with its curves.

use super::writer::Writer;
use crate::file::hazard_word;
use crate::material::{Curve, Kind, Material, Uncertainty};
use crate::units::hidden::quoted as text;
use crate::units::words::key as step;
use crate::units::{Dimension, System};

/// A material as a table of a case file, in SI.
///
/// ```
/// let pvc = quenchway::file::library::find("pvc-insulation").unwrap();
/// assert!(quenchway::file::resolved::material(&pvc).starts_with("[material.pvc-insulation]\nkind = \"plastic\"\n"));
/// ```
pub fn material(material: &Material) -> String {
    let mut writer = Writer::new(System::Si);
    writer.material(material);
    writer.text.trim_start().to_string()
}

impl Writer {
    pub(super) fn material(&mut self, material: &Material) {
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
