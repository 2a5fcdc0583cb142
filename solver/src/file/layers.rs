//! The product: `[[layer]]`, from the axis outward.

use super::Materials;
use super::conductor::{self, Body};
use super::die;
use super::entry::{Entry, Written};
use super::library::find_material;
use super::problem::Problems;
use super::table::Table;
use super::words::shown;
use super::words::step;
use crate::case::programme::{Feed, Output};
use crate::case::shrink;
use crate::case::warning::Warning;
use crate::case::{CaseFile, Contact, Contraction, DieTemperature, Layer, Shape, Size};
use crate::material::{Kind, Material};
use crate::names::contacts::CONTACTS;
use crate::names::keys::{self, Place};
use crate::units::words::{listed, quoted};
use crate::units::{Celsius, Dimension};

/// Most layers of a product.
const MOST: usize = 32;
/// Thinnest wall, m; a hair less than the key table's bound, which rounding may undercut.
const THINNEST: f64 = 0.999e-6;
/// Poisson's ratio of what keeps its volume under load: a melt.
const MELT: f64 = 0.5;

/// The keys that give a layer's size.
const SIZES: [&str; 7] = ["diameter", "finished_diameter", "wall", "finished_wall", "area", "conductor", "core"];

/// The product as read.
pub(super) struct Product {
    pub(super) layers: Vec<Layer>,
    /// m, 0 for a solid product.
    pub(super) bore: f64,
    pub(super) assumptions: Vec<Warning>,
    /// Where each layer's size is written.
    pub(super) sizes: Vec<Written>,
    /// Where the power of a preheater is written.
    pub(super) preheat: Option<Written>,
}

/// What is known of the layers inside the next one.
#[derive(Default)]
struct Inside {
    /// Name of the layer next to it; none for the first layer.
    name: Option<String>,
    /// Whether one of them is metal.
    conductor: bool,
    /// Whether one of them holds the length of what is extruded over it: metal, laid-up cores, a plastic that comes already set.
    holds: bool,
    outer: Outer,
}

impl Inside {
    /// Whether what comes next is the first layer, around no bore.
    fn is_solid(&self) -> bool {
        self.name.is_none() && self.outer.hot == Some(0.0)
    }
}

/// Outer diameter hot and finished, m, where the case gives it.
#[derive(Clone, Copy, Default)]
struct Outer {
    hot: Option<f64>,
    finished: Option<f64>,
}

/// Reads all layers.
pub(super) fn read(
    root: &Table<'_>,
    shape: Option<Shape>,
    materials: &Materials,
    problems: &mut Problems,
) -> Option<Product> {
    let tables = super::tables(root, "layer", Place::Layer, MOST, problems)?;
    super::check_unique(&tables, problems);
    let mut product =
        Product { layers: Vec::new(), bore: 0.0, assumptions: Vec::new(), sizes: Vec::new(), preheat: None };
    let mut inside = Inside { outer: Outer { hot: Some(0.0), finished: Some(0.0) }, ..Inside::default() };
    let mut whole = true;
    for (index, table) in tables.iter().enumerate() {
        let Some(table) = table else {
            whole = false;
            inside = Inside { name: Some(format!("layer {}", index + 1)), ..Inside::default() };
            continue;
        };
        if index == 0
            && let Some(entry) = table.get("bore")
        {
            let bore = entry.value(problems);
            product.bore = bore.unwrap_or_default();
            inside.outer = Outer { hot: bore, finished: bore };
            whole &= bore.is_some();
        }
        match read_layer(table, shape, materials, &mut inside, &mut product.assumptions, problems) {
            Some(layer) => {
                product.layers.push(layer);
                product.sizes.extend(SIZES.iter().find_map(|name| table.get(name)).map(|entry| Written::of(&entry)));
                product.preheat =
                    product.preheat.take().or_else(|| table.get("preheat_power").map(|entry| Written::of(&entry)));
            }
            None => whole = false,
        }
    }
    whole.then_some(product)
}

fn read_layer(
    table: &Table<'_>,
    shape: Option<Shape>,
    materials: &Materials,
    inside: &mut Inside,
    assumptions: &mut Vec<Warning>,
    problems: &mut Problems,
) -> Option<Layer> {
    let first = inside.name.is_none();
    let name = table.name(problems);
    let material = table.need("material", problems).and_then(|entry| find_material(&entry, materials, problems));
    if !first && let Some(entry) = table.get("bore") {
        let help = "give it to the first layer, or take it away";
        entry.wrong(problems, "only the first layer has a bore", "not the first layer", help);
    }
    let called = name.clone().unwrap_or_default();
    let body = match table.get("conductor").or_else(|| table.get("core")) {
        Some(entry) if check_solid(&entry, shape, inside, problems) => match entry.key.name {
            "conductor" => conductor::read_conductor(&entry, material.as_ref(), &called, problems),
            _ => conductor::read_core(entry, material.as_ref(), &called, materials, problems),
        },
        _ => None,
    };
    let size = read_size(table, shape, inside, body.as_ref(), problems);
    // What laid-up cores are insulated with does not pass the die.
    let kind = material.as_ref().map(|material| material.kind);
    let material = match body {
        Some(Body { material, estimate, .. }) => {
            assumptions.extend(estimate);
            Some(material)
        }
        None => material,
    };
    let of = die::Of { kind, name: &called, first };
    let temperature = die::read(table, &of, assumptions, problems);
    let contact = read_contact(table, inside.name.as_deref(), &called, assumptions, problems);
    // A metal, and a product with nothing solid inside, contract in every direction. Over something solid friction holds the
    // length within centimetres, whatever the contact: see the theory page.
    let held = kind == Some(Kind::Plastic) && inside.holds || table.get("core").is_some();
    let contraction = table.choice_or("contraction", if held { 0 } else { 1 }, problems);
    let poisson_ratio = read_poisson_ratio(table, contraction, material.as_ref(), inside.conductor, problems);
    let conductivity_factor = table.number_or("conductivity_factor", 1.0, problems);
    let heat_capacity_factor = table.number_or("heat_capacity_factor", 1.0, problems);
    let setting_shift = read_setting_shift(table, material.as_ref(), problems);
    let melt_shrink_max = read_melt_shrink(table, material.as_ref(), problems);
    let feed = read_feed(table, kind.zip(at_die(material.as_ref(), temperature.as_ref())), problems);

    inside.name = Some(called);
    inside.conductor |= matches!(kind, Some(Kind::Metal | Kind::LaidUp));
    inside.holds |= inside.conductor || at_die(material.as_ref(), temperature.as_ref()) == Some(AtDie::Solid);
    Some(Layer {
        name: name?,
        material: material?,
        size: size?,
        temperature: temperature?,
        contact: contact?,
        contraction: if contraction? == 0 { Contraction::Held } else { Contraction::Free },
        poisson_ratio: poisson_ratio?,
        conductivity_factor: conductivity_factor?,
        heat_capacity_factor: heat_capacity_factor?,
        setting_shift: setting_shift?,
        melt_shrink_max: melt_shrink_max?,
        feed: feed?,
    })
}

/// What a layer is at the die.
#[derive(Clone, Copy, PartialEq)]
enum AtDie {
    /// A melt at some speed.
    Melt,
    /// Solid at every speed.
    Solid,
}

fn at_die(material: Option<&Material>, temperature: Option<&DieTemperature>) -> Option<AtDie> {
    let (material, temperature) = material.zip(temperature)?;
    Some(if comes_solid(material, temperature) { AtDie::Solid } else { AtDie::Melt })
}

/// How the output goes with the line speed, and the melt's way to the die: of a melt only.
fn read_feed(table: &Table<'_>, comes: Option<(Kind, AtDie)>, problems: &mut Problems) -> Option<Feed> {
    const KEYS: [&str; 3] = ["output", "head_volume", "residence_max"];
    if let Some((kind, at_die)) = comes
        && (kind != Kind::Plastic || at_die == AtDie::Solid)
        && let Some(entry) = KEYS.iter().find_map(|key| table.get(key))
    {
        let label = match kind {
            Kind::Metal => "of a metal",
            Kind::LaidUp => "of laid-up cores",
            Kind::Plastic => "comes solid",
        };
        let key = entry.key.name;
        let message = format!("only a melt has {key}");
        entry.wrong(problems, message, label, format!("take {key} away here: no extruder gives this layer"));
        return None;
    }
    let output = match table.get("output") {
        None => Some(Output::Follows),
        Some(entry) if entry.value.get_ref().is_table() => {
            let lag = Table::open(entry.value, Place::Output, entry.path, problems)?;
            lag.need("lag", problems).and_then(|entry| entry.value(problems)).map(Output::Lag)
        }
        Some(entry) => entry.choice(problems).map(|word| if word == 0 { Output::Follows } else { Output::Constant }),
    };
    let head_volume = table.value_if_any("head_volume", problems);
    let residence_max = table.value_if_any("residence_max", problems);
    if let (Some(entry), false) = (table.get("residence_max"), table.has("head_volume")) {
        let message = "the time in the head is not known without its volume";
        entry.wrong(problems, message, "no head_volume", "add head_volume = \"0.5 L\", the melt between screw and die");
        return None;
    }
    Some(Feed { output: output?, head_volume: head_volume?, residence_max: residence_max? })
}

/// Whether a layer is no melt at the die, at any speed.
fn comes_solid(material: &Material, at_die: &DieTemperature) -> bool {
    match at_die {
        DieTemperature::Fixed(temperature) => !material.is_melt(*temperature),
        DieTemperature::OfSpeed(points) => points.iter().all(|point| !material.is_melt(Celsius(point[1]))),
        DieTemperature::Preheated(_) => true,
    }
}

/// The one size of a layer, and whether it lies outside the layers inside it.
fn read_size(
    table: &Table<'_>,
    shape: Option<Shape>,
    inside: &mut Inside,
    body: Option<&Body>,
    problems: &mut Problems,
) -> Option<Size> {
    let given: Vec<Entry<'_>> = SIZES.iter().filter_map(|name| table.get(name)).collect();
    let [entry] = &given[..] else {
        inside.outer = Outer::default();
        if let [one, two, ..] = &given[..] {
            two.wrong(
                problems,
                format!("{} and {} are both given, a layer has one size", one.key.name, two.key.name),
                "a second size",
                format!("keep one of {}", listed(given.iter().map(|entry| entry.key.name), "and")),
            );
        } else if !SIZES.iter().any(|name| table.has(name)) {
            table.note_missing("size", "diameter = \"3.42 mm\", or finished_diameter, wall, finished_wall", problems);
        }
        return None;
    };
    if matches!(entry.key.name, "conductor" | "core") {
        // What is wrong with them was noted when their body was read.
        let size = body.map(|body| body.size);
        let finished = body.map(|body| body.size).and_then(|size| match size {
            Size::FinishedDiameter(finished) => Some(finished),
            _ => None,
        });
        inside.outer = Outer { hot: None, finished };
        return size;
    }
    let value = entry.value(problems);
    let solid = inside.is_solid();
    let within = std::mem::take(&mut inside.outer);
    let value = value?;
    let size = match entry.key.name {
        "diameter" => Size::Diameter(value),
        "finished_diameter" => Size::FinishedDiameter(value),
        "area" => {
            if !solid || shape == Some(Shape::Flat) {
                note_not_solid(entry, problems);
                return None;
            }
            Size::Diameter(2.0 * (value / std::f64::consts::PI).sqrt())
        }
        wall if solid => {
            let key = wall.replace("wall", "diameter");
            let help = format!("{key} = \"{}\", or give a bore beside it", shown(2.0 * value, Dimension::Diameter));
            let message = "a wall lies around something, and the first layer is solid";
            entry.wrong(problems, message, "first layer", help);
            return None;
        }
        "wall" => Size::Wall(value),
        _ => Size::FinishedWall(value),
    };
    inside.outer = match size {
        Size::Diameter(hot) => Outer { hot: Some(hot), finished: None },
        Size::FinishedDiameter(finished) => Outer { hot: None, finished: Some(finished) },
        Size::Wall(wall) => Outer { hot: within.hot.map(|inner| inner + 2.0 * wall), finished: None },
        Size::FinishedWall(wall) => Outer { hot: None, finished: within.finished.map(|inner| inner + 2.0 * wall) },
    };
    // Hot and finished sizes compare only with their own kind here; the shrink law compares the rest.
    let pairs = [(within.hot, inside.outer.hot), (within.finished, inside.outer.finished)];
    let too_small = pairs.into_iter().find_map(|pair| match pair {
        (Some(inner), Some(outer)) if outer < inner + 2.0 * THINNEST => Some((inner, outer)),
        _ => None,
    });
    if let Some((inner, outer)) = too_small {
        note_too_small(entry, inside.name.as_deref(), inner, outer, problems);
        return None;
    }
    Some(size)
}

/// Whether a size of a conductor stands where one can be; noted where it does not.
fn check_solid(entry: &Entry<'_>, shape: Option<Shape>, inside: &Inside, problems: &mut Problems) -> bool {
    let fits = inside.is_solid() && shape != Some(Shape::Flat);
    if !fits {
        note_not_solid(entry, problems);
    }
    fits
}

fn note_not_solid(entry: &Entry<'_>, problems: &mut Problems) {
    let article = if entry.key.name == "area" { "an" } else { "a" };
    let message = format!("{article} {} is understood only of a solid round first layer", entry.key.name);
    entry.wrong(problems, message, "no solid round conductor", "give its diameter or wall instead");
}

/// Checks hot and finished sizes against each other, with the shrink law between them.
///
/// The problems are those that a size of the other kind hides from the comparison within the layers' own list.
pub(super) fn check_walls(case: &CaseFile, sizes: &[Written], problems: &mut Problems) {
    let wrong = match shrink::radii(case) {
        Ok(radii) => {
            let inner = std::iter::once(case.bore / 2.0).chain(radii.hot.iter().copied());
            inner.zip(&radii.hot).position(|(inner, outer)| outer - inner < THINNEST)
        }
        Err(index) => Some(index),
    };
    let Some((layer, written)) = wrong.and_then(|index| case.layers.get(index).zip(sizes.get(index))) else { return };
    problems.add(
        &written.span,
        &written.path,
        format!("at the die no wall would be left for {} around the hot layer inside it", quoted(&layer.name)),
        "too small",
        "hot layers are larger than finished ones: give a larger size, or wall = ... or finished_wall = ...",
    );
}

fn note_too_small(entry: &Entry<'_>, inner_name: Option<&str>, inner: f64, outer: f64, problems: &mut Problems) {
    let inner_name = inner_name.map_or("the bore".to_string(), quoted);
    let (inner_size, outer_size) = (shown(inner, Dimension::Diameter), shown(outer, Dimension::Diameter));
    let message = if outer > inner {
        format!("{outer_size} around the {inner_size} of {inner_name} leaves almost no wall")
    } else {
        format!("{outer_size} is not larger than the {inner_size} of {inner_name} inside it")
    };
    entry.wrong(
        problems,
        message,
        format!("more than {inner_size}"),
        "layers go from the axis outward: order them so, or give wall = ... instead of an outer diameter",
    );
}

/// Poisson's ratio, which means something only for a plastic that a conductor holds and that sets.
fn read_poisson_ratio(
    table: &Table<'_>,
    contraction: Option<usize>,
    material: Option<&Material>,
    on_conductor: bool,
    problems: &mut Problems,
) -> Option<f64> {
    let Some(entry) = table.get("poisson_ratio") else { return Some(MELT) };
    let value = entry.number(problems)?;
    let (material, free) = (material?, contraction? != 0);
    let away = "take poisson_ratio away here";
    let (message, label, help) = if material.kind != Kind::Plastic {
        (
            "only a plastic takes Poisson's ratio",
            if material.kind == Kind::Metal { "of a metal" } else { "of laid-up cores" },
            away.to_string(),
        )
    } else if free {
        ("a layer that contracts freely does so whatever its Poisson's ratio", "contraction is free", {
            format!("{away}, or say contraction = \"held\"")
        })
    } else if !on_conductor {
        ("no conductor lies inside this layer for it to stick to", "no conductor", away.to_string())
    } else if material.set_temperature.is_none() {
        ("the material has no temperature below which it would be stiff", "does not set", {
            format!("add set_temperature = \"80 degC\" to [material.{}], or {away}", step(&material.name))
        })
    } else {
        return Some(value);
    };
    entry.wrong(problems, message, label, help);
    None
}

/// The limit of the melt's shrink under a set skin, which only a plastic that sets can have; absent: no limit.
/// How much lower it sets, K: of a plastic only.
fn read_setting_shift(table: &Table<'_>, material: Option<&Material>, problems: &mut Problems) -> Option<f64> {
    let Some(entry) = table.get("setting_shift") else { return Some(0.0) };
    if material.is_some_and(|material| material.kind != Kind::Plastic) {
        let message = "only a plastic sets";
        entry.wrong(problems, message, "not of a plastic", "take setting_shift away here");
        return None;
    }
    entry.value(problems)
}

fn read_melt_shrink(table: &Table<'_>, material: Option<&Material>, problems: &mut Problems) -> Option<Option<f64>> {
    let Some(entry) = table.get("melt_shrink_max") else { return Some(None) };
    let value = entry.value(problems)?;
    let material = material?;
    let (label, help) = if material.kind == Kind::Metal {
        ("of a metal", "take melt_shrink_max away here".to_string())
    } else if material.set_temperature.is_none() {
        let name = step(&material.name);
        (
            "does not set",
            format!("add set_temperature = \"80 degC\" to [material.{name}], or take melt_shrink_max away here"),
        )
    } else {
        return Some(Some(value));
    };
    entry.wrong(problems, "only a plastic with a set temperature closes a skin over melt", label, help);
    None
}

fn read_contact(
    table: &Table<'_>,
    inner: Option<&str>,
    name: &str,
    assumptions: &mut Vec<Warning>,
    problems: &mut Problems,
) -> Option<Contact> {
    match (table.get("contact"), inner) {
        (None, None) => Some(Contact::Perfect),
        (None, Some(inner)) => {
            assumptions.push(Warning::ContactAssumed { layer: name.to_string(), inner: inner.to_string() });
            Some(Contact::Perfect)
        }
        (Some(entry), None) => {
            let help = "contact belongs to the outer one of two layers: take it away here";
            entry.wrong(problems, "there is nothing inside the first layer to touch", "first layer", help);
            None
        }
        (Some(entry), Some(_)) => contact_of(&entry, problems),
    }
}

/// A word or a conductance.
fn contact_of(entry: &Entry<'_>, problems: &mut Problems) -> Option<Contact> {
    let word = entry.value.get_ref().as_str().filter(|text| !text.contains(|c: char| c.is_ascii_digit()));
    if word.is_none() {
        return entry.value(problems).map(Contact::Conductance);
    }
    let word = keys::CONTACTS.get(entry.choice(problems)?)?;
    let named = CONTACTS.iter().find(|contact| contact.name == *word);
    Some(named.map_or(Contact::Perfect, |contact| Contact::Conductance(contact.conductance)))
}
