//! A solution as labelled numbers: the variables of its results file, with names, dimensions, units and words.

use ndarray::Array1;
use serde::Serialize;

use super::solution::{AroundReport, Fields, LimitReport, PointReport, SectionReport, Skin, Solution, Throughput};
use crate::case::{Case, InputBand, Quantity};
use crate::data::{Data, Label, Values};
use crate::maths::shape::Shape;
use crate::units::words::key;

const INNER_FACE: &str = "outer face of the layer inside the joint; joint 0 lies between layers 0 and 1";
const OUTER_FACE: &str = "inner face of the layer outside the joint; joint 0 lies between layers 0 and 1";

/// The hot side of the surface, behind water that does not touch all round.
pub const HOT_SIDE: Label = Label::with_gaps(
    "hot_side_temperature",
    "degC",
    "hot side of the surface, after water that does not touch all round",
);
/// Both films of water that does not touch all round.
pub const FILM: [Label; 2] = [
    Label::with_gaps("film_coefficient_where_wet", "W m-2 K-1", "film coefficient where the water touches, at the end"),
    Label::with_gaps("film_coefficient_all_round", "W m-2 K-1", "film all round that would cool as much, at the end"),
];
/// The band along the line: surface low and high, core low and high.
pub const BAND: [Label; 4] = [
    Label::new("surface_temperature_low", "degC", "low end of the surface temperature"),
    Label::new("surface_temperature_high", "degC", "high end of the surface temperature"),
    Label::new("core_temperature_low", "degC", "low end of the core temperature"),
    Label::new("core_temperature_high", "degC", "high end of the core temperature"),
];
/// The limits of single layers.
pub const LAYER_MAX: &str = "layer_max";
/// The limits that a station may set, each with its highest value and its margin.
pub const LIMITS: [(Quantity, Label, Label); 5] = [
    (
        Quantity::Surface,
        Label::with_gaps("surface_max", "degC", "highest surface temperature allowed"),
        Label::with_gaps("surface_margin", "K", "surface_max minus the surface temperature"),
    ),
    (
        Quantity::Core,
        Label::with_gaps("core_max", "degC", "highest core temperature allowed"),
        Label::with_gaps("core_margin", "K", "core_max minus the core temperature"),
    ),
    (
        Quantity::Mean,
        Label::with_gaps("mean_max", "degC", "highest mean temperature of the plastic allowed"),
        Label::with_gaps("mean_margin", "K", "mean_max minus the mean temperature of the plastic"),
    ),
    (
        Quantity::Hottest,
        Label::with_gaps("hottest_max", "degC", "highest temperature of the plastic allowed anywhere in it"),
        Label::with_gaps("hottest_margin", "K", "hottest_max minus the hottest temperature of the plastic"),
    ),
    (
        Quantity::Equalised,
        Label::with_gaps("equalised_max", "degC", "highest temperature of the adiabatic mix allowed"),
        Label::with_gaps("equalised_margin", "K", "equalised_max minus the temperature of the adiabatic mix"),
    ),
];

/// The key of a layer's limit: `layer_max.jacket`.
pub fn layer_limit(layer: &str) -> String {
    format!("{LAYER_MAX}.{}", key(layer))
}

/// The word that stands for a choice in JSON: `water`.
pub fn word(choice: &impl Serialize) -> String {
    serde_json::to_value(choice).ok().and_then(|value| value.as_str().map(String::from)).unwrap_or_default()
}

impl Solution {
    /// The whole answer as labelled numbers, the fields, tables and books; groups `stations`, `sections` and `band`.
    ///
    /// ```
    /// use quenchway::{march, read};
    /// let case = read(quenchway::file::EXAMPLE).map_err(|problems| problems[0].message.clone())?;
    /// let data = march(&case)?.data(&case);
    /// let core = data.variables.iter().find(|variable| variable.name == "stations/core_temperature").ok_or("none")?;
    /// assert_eq!((core.units.as_str(), core.values.count()), ("degC", 3));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn data(&self, case: &Case) -> Data {
        self.labelled(case.shape, &case.layers.iter().map(|layer| layer.name.as_str()).collect::<Vec<_>>())
    }

    /// The same from what it needs of the case: flat masses and heats are per metre of width; the layers' names from the axis
    /// outward.
    pub fn labelled(&self, shape: Shape, layer_names: &[&str]) -> Data {
        let mut data = Data::default();
        facts(&mut data, self);
        let layer = data.axis("layer", layer_names.len());
        let interface = data.axis("interface", self.fields.interface_inner.ncols());
        let section = data.axis("section", self.sections.len());
        let mut all = Build { data, solution: self, layer_names, layer, interface, section };
        all.fields(shape);
        all.layers();
        all.line();
        all.stations();
        all.sections();
        all.band();
        all.data
    }
}

/// The word and, as the JSON of a run has it, the whole judgement of the cooling; empty and `null` where nobody looked.
fn facts(data: &mut Data, solution: &Solution) {
    let warnings = solution.warnings.iter().map(|warning| {
        serde_json::json!({ "kind": warning.kind(), "message": warning.to_string(), "where": warning.place() })
    });
    data.fact("cautions", solution.cautions.join("\n"));
    data.fact("warnings", serde_json::Value::Array(warnings.collect()).to_string());
    data.fact("hot_gauge_station", solution.shrink.hot_gauge_station.as_str());
    data.fact("cold_gauge_station", solution.shrink.cold_gauge_station.as_str());
    data.fact("limited_by", solution.cooling.as_ref().map_or(String::new(), |cooling| word(&cooling.now.limited_by)));
    data.fact("cooling", serde_json::to_string(&solution.cooling).unwrap_or_default());
    data.fact("tolerance_K", solution.numerics.tolerance);
    data.fact("error_K", solution.numerics.error);
    data.fact("balance_relative_error", solution.balance.relative_error);
    data.fact("cells", solution.numerics.cells);
    data.fact("steps", solution.numerics.steps);
}

struct Build<'a> {
    data: Data,
    solution: &'a Solution,
    layer_names: &'a [&'a str],
    layer: usize,
    interface: usize,
    section: usize,
}

impl Build<'_> {
    /// The fields along the line.
    fn fields(&mut self, shape: Shape) {
        let Fields {
            distance,
            time,
            section_of_point,
            layer_of_node,
            node_mass,
            radius,
            temperature,
            enthalpy,
            surface,
            hot_side,
            core,
            mean,
            hottest,
            interface_inner,
            interface_outer,
            diameter,
            medium,
            film,
            heat_flux,
            heat_per_length,
            band,
        } = &self.solution.fields;
        let (mass, heat) = match shape {
            Shape::Round => ("kg m-1", "J m-1"),
            Shape::Flat => ("kg m-2", "J m-2"), // per m of line and m of width
        };
        let data = &mut self.data;
        let along = |values: &Array1<f64>| values.iter().copied().collect::<Values>();
        let point = data.coordinate(Label::new("distance", "m", "distance from the die"), along(distance));
        let index = Label::new("node", "1", "index of the node, from the axis outward; a joint has two, one a layer");
        let node = data.coordinate(index, Values::wholes(0..node_mass.len()));

        data.put(Label::new("time", "s", "age of the slice since the die"), &[point], "", along(time));
        let label = Label::new("radius", "m", "distance of the node from the axis or mid-plane");
        data.put(label, &[point, node], "", radius.iter().copied().collect());
        let label = Label::new("node_mass", mass, "mass of the node: its weight in the energy balance");
        data.put(label, &[node], "", along(node_mass));
        let label = Label::new("layer_of_node", "1", "layer of the node, an index into layer_name");
        data.put(label, &[node], "", Values::wholes(layer_of_node.iter().copied()));
        let label = Label::new("section_of_point", "1", "section of the point, an index into section_name");
        data.put(label, &[point], "time", Values::wholes(section_of_point.iter().copied()));

        for (label, values) in [
            (Label::new("temperature", "degC", "temperature of the node"), temperature),
            (Label::new("enthalpy", "J kg-1", "enthalpy of the node above 0 degC"), enthalpy),
        ] {
            data.put(label, &[point, node], "time radius", values.iter().copied().collect());
        }
        for (label, values) in [
            (Label::new("interface_temperature_inner", "degC", INNER_FACE), interface_inner),
            (Label::new("interface_temperature_outer", "degC", OUTER_FACE), interface_outer),
        ] {
            data.put(label, &[point, self.interface], "time", values.iter().copied().collect());
        }
        for (label, values) in [
            (Label::new("surface_temperature", "degC", "temperature of the outer surface"), surface),
            (Label::new("core_temperature", "degC", "temperature of the axis or inner surface"), core),
            (Label::new("mean_temperature", "degC", "mass mean temperature of the plastic"), mean),
            (Label::new("hottest_plastic_temperature", "degC", "hottest point of the plastic"), hottest),
            (Label::new("diameter", "m", "outer diameter (flat: full thickness)"), diameter),
            (Label::new("medium_temperature", "degC", "temperature of the air or water around it"), medium),
            (Label::new("film_coefficient", "W m-2 K-1", "film coefficient, radiation not included"), film),
            (Label::new("heat_flux", "W m-2", "heat flux from the surface, radiation included"), heat_flux),
            (Label::new("heat_per_length", heat, "heat given up since the die"), heat_per_length),
        ] {
            data.put(label, &[point], "time", along(values));
        }
        if let Some(values) = hot_side {
            data.put(HOT_SIDE, &[point], "time", along(values));
        }
        if let Some(band) = band {
            let ends = [&band.surface_low, &band.surface_high, &band.core_low, &band.core_high];
            for (label, values) in BAND.into_iter().zip(ends) {
                data.put(label, &[point], "time", along(values));
            }
        }
    }

    /// Names of layers and sections, and the numbers of each layer.
    fn layers(&mut self) {
        let (data, solution, layer) = (&mut self.data, self.solution, self.layer);
        data.texts("layer_name", "name of the layer, from the axis outward", layer, self.layer_names.iter().copied());
        let names = solution.sections.iter().map(|section| section.name.as_str());
        data.texts("section_name", "name of the section, from the die onward", self.section, names);

        let names = self.layer_names.iter();
        let mut of_layers = |name: &str, units: &str, long_name: &str, value: &dyn Fn(&str) -> Option<f64>| {
            let values = names.clone().map(|name| value(name).unwrap_or(f64::NAN)).collect();
            data.put(Label::with_gaps(name, units, long_name), &[layer], "layer_name", values);
        };
        let skin = |name: &str| solution.skins.iter().find(|skin| skin.layer == name);
        type OfSkin = fn(&Skin) -> Option<f64>;
        let skins: [(&str, &str, &str, OfSkin); 5] = [
            ("skin_set_distance", "m", "where the outer tenth of a plastic layer's wall had set", |skin| skin.distance),
            ("melt_shrink", "percent", "volume that the melt under that skin had still to lose", |skin| {
                skin.melt_shrink
            }),
            ("surface_set_rate", "K s-1", "mean cooling rate of the outer face as it set", |skin| skin.surface_rate),
            ("surface_set_rate_resolved", "K s-1", "largest such rate that a run resolves after an entry", |skin| {
                Some(skin.resolved)
            }),
            ("mid_wall_set_rate", "K s-1", "mean cooling rate of the middle of the wall as it set", |skin| {
                skin.mid_wall_rate
            }),
        ];
        of_layers("set_through_distance", "m", "where a plastic layer's hottest point has set", &|name| {
            solution.set_through.iter().find(|set| set.layer == name)?.distance
        });
        for (name, units, long_name, value) in skins {
            of_layers(name, units, long_name, &|layer| value(skin(layer)?));
        }
        let words = "section in which the outer face set, an index into section_name";
        of_layers("surface_set_section", "1", words, &|name| {
            let set_in = skin(name)?.set_in.as_ref()?;
            solution.sections.iter().position(|section| section.name == *set_in).map(|section| section as f64)
        });
        of_layers("throughput", "kg h-1", "mass flow of the layer at the die", &|name| {
            solution.throughput.iter().find(|Throughput { layer, .. }| layer == name).map(|flow| flow.kg_per_h)
        });
    }

    /// The numbers that hold for the whole line.
    fn line(&mut self) {
        let Solution { equalised, rebound, chiller_duty, peclet, balance, shrink, .. } = self.solution;
        for (name, units, long_name, value) in [
            (
                "equalised_temperature",
                "degC",
                "adiabatic mix at the end of the line: what the reel settles to",
                equalised,
            ),
            ("rebound", "K", "rise of the surface after the last water above its temperature at the exit", rebound),
            ("chiller_duty", "W", "heat that all water takes up", chiller_duty),
            ("peclet_number", "1", "lowest Peclet number of the sections", peclet),
            ("heat_to_media", "W", "heat given to all media", &balance.heat_to_media),
            ("enthalpy_drop", "W", "enthalpy that the product lost", &balance.enthalpy_drop),
            ("hot_gauge_diameter", "m", "diameter at the hot gauge", &shrink.hot_gauge),
            ("cold_gauge_diameter", "m", "diameter at the cold gauge", &shrink.cold_gauge),
            ("finished_diameter", "m", "diameter with everything at 23 degC", &shrink.finished),
            ("shrink_to_cold_gauge", "percent", "shrink from the hot to the cold gauge", &shrink.to_cold_gauge),
            ("shrink_to_finished", "percent", "shrink from the hot gauge to 23 degC", &shrink.to_finished),
            ("frozen_axial_strain", "percent", "largest axial strain frozen into a held layer", &shrink.frozen_axial),
        ] {
            self.data.put(Label::new(name, units, long_name), &[], "", Values::Numbers(vec![*value]));
        }
    }

    /// The group `stations`: every number of the station table.
    fn stations(&mut self) {
        let stations = &self.solution.stations;
        let axis = self.data.axis("stations/station", stations.len());
        let names = stations.iter().map(|station| station.name.as_str());
        self.data.texts("stations/station_name", "name of the station", axis, names);
        let distance = stations.iter().map(|station| station.distance).collect();
        self.put("stations", Label::new("distance", "m", "distance from the die"), &[axis], "station_name", distance);
        let time = stations.iter().map(|station| station.time).collect();
        let label = Label::new("time", "s", "age of the slice since the die");
        self.put("stations", label, &[axis], "station_name", time);
        let coordinates = "station_name distance";
        let points: Vec<&PointReport> = stations.iter().map(|station| &station.point).collect();
        self.points("stations", axis, coordinates, &points);

        for (_, max, margin) in LIMITS {
            for (label, value) in [(max, limit_of as fn(&LimitReport) -> f64), (margin, margin_of)] {
                let of =
                    |limits: &[LimitReport]| limits.iter().find(|limit| limit.name == max.name).map_or(f64::NAN, value);
                let values = stations.iter().map(|station| of(&station.limits)).collect();
                self.put("stations", label, &[axis], coordinates, values);
            }
        }
        let keys: Vec<String> = self.layer_names.iter().map(|name| layer_limit(name)).collect();
        for (label, value) in [
            (
                Label::with_gaps(LAYER_MAX, "degC", "highest temperature allowed anywhere in the layer"),
                limit_of as fn(&LimitReport) -> f64,
            ),
            (
                Label::with_gaps("layer_margin", "K", "layer_max minus the temperature of the layer's hottest point"),
                margin_of,
            ),
        ] {
            let of = |limits: &[LimitReport], key: &str| {
                limits.iter().find(|limit| limit.name == key).map_or(f64::NAN, value)
            };
            let values = stations.iter().flat_map(|station| keys.iter().map(move |key| of(&station.limits, key)));
            let values = values.collect();
            self.put("stations", label, &[axis, self.layer], coordinates, values);
        }
    }

    /// The group `sections`: every number of the section table.
    fn sections(&mut self) {
        let (sections, axis) = (&self.solution.sections, self.section);
        let names = sections.iter().map(|section| section.name.as_str());
        self.data.texts("sections/section_name", "name of the section, from the die onward", axis, names);
        let media = sections.iter().map(|section| word(&section.medium));
        self.data.texts("sections/medium", "what surrounds the product", axis, media);
        type Value = fn(&SectionReport) -> f64;
        let columns: [(Label, Value); 11] = [
            (Label::new("start", "m", "distance of its start from the die"), |section| section.start),
            (Label::new("end", "m", "distance of its end from the die"), |section| section.end),
            (Label::new("heat", "W", "heat given to the medium by the running line"), |section| section.heat),
            (Label::new("medium_temperature", "degC", "temperature of the medium"), |section| {
                section.medium_temperature
            }),
            (Label::with_gaps("water_in_temperature", "degC", "temperature of the water at its inlet"), |section| {
                section.water_in.unwrap_or(f64::NAN)
            }),
            (Label::with_gaps("water_out_temperature", "degC", "temperature of the water at its outlet"), |section| {
                section.water_out.unwrap_or(f64::NAN)
            }),
            (Label::with_gaps("water_flow", "kg s-1", "mass flow of the water"), |section| {
                section.water_flow.unwrap_or(f64::NAN)
            }),
            (Label::new("heat_to_water", "W", "heat given to the water by the running line"), |section| {
                section.heat_to_water
            }),
            (
                Label::new("film_coefficient_mean", "W m-2 K-1", "mean film coefficient, radiation not included"),
                |section| section.film_mean,
            ),
            (Label::new("biot_number", "1", "conduction resistance of the plastic over that of the film"), |section| {
                section.biot
            }),
            (Label::new("time_above_boiling", "s", "time that the surface was above 100 degC in water"), |section| {
                section.boiling
            }),
        ];
        for (label, value) in columns {
            self.put("sections", label, &[axis], "section_name", sections.iter().map(value).collect());
        }
        if sections.iter().any(|section| section.around.is_some()) {
            let films: [fn(&AroundReport) -> f64; 2] = [|around| around.film, |around| around.all_round];
            for (label, value) in FILM.into_iter().zip(films) {
                let values = sections.iter().map(|section| section.around.as_ref().map_or(f64::NAN, value)).collect();
                self.put("sections", label, &[axis], "section_name", values);
            }
        }
        let exits: Vec<&PointReport> = sections.iter().map(|section| &section.exit).collect();
        self.points("sections", axis, "section_name end", &exits);
    }

    /// The product's state at places along the line.
    fn points(&mut self, group: &str, axis: usize, coordinates: &str, points: &[&PointReport]) {
        type Value = fn(&PointReport) -> f64;
        let columns: [(Label, Value); 6] = [
            (Label::new("surface_temperature", "degC", "temperature of the outer surface"), |point| point.surface),
            (Label::new("core_temperature", "degC", "temperature of the axis or inner surface"), |point| point.core),
            (Label::new("mean_temperature", "degC", "mass mean temperature of the plastic"), |point| point.mean),
            (Label::new("hottest_plastic_temperature", "degC", "hottest point of the plastic"), |point| point.hottest),
            (Label::new("equalised_temperature", "degC", "adiabatic mix of the whole product"), |point| {
                point.equalised
            }),
            (Label::new("diameter", "m", "outer diameter (flat: full thickness)"), |point| point.diameter),
        ];
        for (label, value) in columns {
            self.put(group, label, &[axis], coordinates, points.iter().map(|point| value(point)).collect());
        }
        if points.iter().any(|point| point.hot_side.is_some()) {
            let values = points.iter().map(|point| point.hot_side.unwrap_or(f64::NAN)).collect();
            self.put(group, HOT_SIDE, &[axis], coordinates, values);
        }
        let (joints, layers) = (self.data.axes[self.interface].length, self.layer_names.len());
        type Face = fn(&super::solution::Interface) -> f64;
        let faces: [(Label, Face); 2] = [
            (Label::new("interface_temperature_inner", "degC", INNER_FACE), |joint| joint.inner),
            (Label::new("interface_temperature_outer", "degC", OUTER_FACE), |joint| joint.outer),
        ];
        for (label, face) in faces {
            let at = |point: &PointReport, joint: usize| point.interfaces.get(joint).map_or(f64::NAN, face);
            let values = points.iter().flat_map(|point| (0..joints).map(move |joint| at(point, joint)));
            let values = values.collect();
            self.put(group, label, &[axis, self.interface], coordinates, values);
        }
        type OfLayers = fn(&PointReport) -> &[f64];
        let of_layers: [(Label, OfLayers); 2] = [
            (Label::new("layer_mean_temperature", "degC", "mass mean temperature of the layer"), |point| {
                &point.layer_means
            }),
            (Label::new("layer_hottest_temperature", "degC", "hottest point of the layer"), |point| {
                &point.layer_hottest
            }),
        ];
        for (label, of) in of_layers {
            let at = |point: &PointReport, layer: usize| of(point).get(layer).copied().unwrap_or(f64::NAN);
            let values = points.iter().flat_map(|point| (0..layers).map(move |layer| at(point, layer)));
            let values = values.collect();
            self.put(group, label, &[axis, self.layer], coordinates, values);
        }
    }

    /// The group `band`: a row a temperature, a column an uncertain input.
    fn band(&mut self) {
        let (rows, inputs) = (&self.solution.band, &self.solution.band_inputs);
        let row = self.data.axis("band/band", rows.len());
        let input = self.data.axis("band/input", inputs.len());
        let mut texts = |name: &str, long_name: &str, axis: usize, texts: Vec<String>| {
            self.data.texts(&format!("band/{name}"), long_name, axis, texts);
        };
        let of_rows = |text: fn(&super::solution::Band) -> &String| rows.iter().map(|row| text(row).clone()).collect();
        texts("station_name", "name of the station", row, of_rows(|row| &row.station));
        texts("quantity", "which temperature", row, of_rows(|row| &row.quantity));
        texts("largest", "key path of the largest contributor", row, of_rows(|row| &row.largest));
        let low = rows.iter().map(|row| row.low).collect();
        self.put("band", Label::new("low", "degC", "low end"), &[row], "station_name quantity", low);
        let high = rows.iter().map(|row| row.high).collect();
        self.put("band", Label::new("high", "degC", "high end"), &[row], "station_name quantity", high);

        let mut texts = |name: &str, long_name: &str, texts: Vec<String>| {
            self.data.texts(&format!("band/{name}"), long_name, input, texts);
        };
        texts(
            "input_path",
            "key path of the uncertain input",
            inputs.iter().map(|input| input.input.clone()).collect(),
        );
        let long_name = "what its ends are: a difference in kelvin, a factor, a conductance in W/(m2 K), standard values along \
                         the band of a law (lean) or of a mode";
        texts("varied", long_name, inputs.iter().map(|input| word(&input.varied)).collect());
        texts("basis", "where its band comes from", inputs.iter().map(|input| input.basis.clone()).collect());
        type End = fn(&InputBand) -> f64;
        let ends: [(Label, End); 2] = [
            (Label::new("low_end", "1", "low end of the input, as varied says"), |input| input.low_end),
            (
                Label::new("high_end", "1", "high end of the input, as varied says; infinite for a perfect contact"),
                |input| input.high_end,
            ),
        ];
        for (label, end) in ends {
            self.put("band", label, &[input], "input_path varied", inputs.iter().map(end).collect());
        }
        for (end, label) in [
            Label::with_gaps("change_at_low_end", "K", "change of the temperature with the input at its low end"),
            Label::with_gaps("change_at_high_end", "K", "change of the temperature with the input at its high end"),
        ]
        .into_iter()
        .enumerate()
        {
            let change =
                |row: &super::solution::Band, input: usize| row.changes.get(input).map_or(f64::NAN, |ends| ends[end]);
            let values = rows.iter().flat_map(|row| (0..inputs.len()).map(move |input| change(row, input)));
            let values = values.collect();
            self.put("band", label, &[row, input], "station_name quantity input_path", values);
        }
    }

    /// Adds numbers to a group.
    fn put(&mut self, group: &str, label: Label, axes: &[usize], coordinates: &str, values: Values) {
        let name = format!("{group}/{}", label.name);
        self.data.put(Label { name: &name, ..label }, axes, coordinates, values);
    }
}

fn limit_of(limit: &LimitReport) -> f64 {
    limit.limit
}

fn margin_of(limit: &LimitReport) -> f64 {
    limit.margin
}
