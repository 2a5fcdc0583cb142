//! The line: `[[section]]`, from the die onward.

use toml::de::DeValue;

use super::circulation;
use super::entry::Entry;
use super::problem::Problems;
use super::table::{ReadSection, Table};
use super::wetting;
use crate::case::warning::Warning;
use crate::case::{Medium, ROOM, Section, Shape, Turn};
use crate::film::{self, Film, Input, Inputs, Law, Pattern, Wetting};
use crate::names::keys::{Kind, LIQUID, Place};
use crate::units::Celsius;
use crate::units::words::{listed, quoted};

/// Most sections of a line.
const MOST: usize = 200;

/// Reads all sections; none where there are none.
pub(super) fn read(root: &Table<'_>, shape: Option<Shape>, problems: &mut Problems) -> Option<Vec<ReadSection>> {
    let tables = super::tables(root, "section", Place::Section, MOST, problems)?;
    super::check_unique(&tables, problems);
    let sections = tables.iter().map(|table| match table {
        Some(table) => read_section(table, shape, problems),
        None => ReadSection { name: None, span: None, section: None },
    });
    let mut sections: Vec<ReadSection> = sections.collect();
    circulation::connect(&tables, &mut sections, problems);
    give_turns_their_air(&tables, &mut sections);
    Some(sections)
}

/// Takes the jets of a spray section that does not say where they are to wet all of a round product, as `wetted = 1` does.
pub(super) fn assume_jets(section: &mut Section) -> Option<Warning> {
    let says_nothing = section.medium == Medium::Spray && section.wetting == Wetting::default();
    says_nothing.then(|| {
        section.wetting.pattern = Pattern::Part(1.0);
        Warning::SprayAllRound { section: section.name.clone() }
    })
}

/// A turn-round whose air has no temperature of its own takes that of the nearest air section.
fn give_turns_their_air(tables: &[Option<Table<'_>>], sections: &mut [ReadSection]) {
    let air: Vec<Option<f64>> = sections
        .iter()
        .map(|read| read.section.as_ref().filter(|section| section.medium == Medium::Air))
        .map(|section| section.map(|section| section.temperature.0))
        .collect();
    for (index, (table, read)) in tables.iter().zip(sections).enumerate() {
        let given = table.as_ref().is_some_and(|table| table.has("turn_temperature"));
        let nearest = (0..air.len()).filter(|&other| air[other].is_some()).min_by_key(|other| other.abs_diff(index));
        if let (Some(section), false) = (&mut read.section, given) {
            section.turn.temperature = nearest.and_then(|other| air[other]).map_or(ROOM, Celsius);
        }
    }
}

fn read_section(table: &Table<'_>, shape: Option<Shape>, problems: &mut Problems) -> ReadSection {
    let name = table.name(problems);
    let medium = table.need("medium", problems).and_then(|entry| entry.choice(problems));
    let medium = medium.map(|word| Medium::ALL[word]);
    let length = table.need("length", problems).and_then(|entry| entry.value(problems));
    // A fed section has its supply's temperature; it is put in when all sections are read.
    let temperature = match (table.get("temperature"), table.has("supply")) {
        (None, true) => Some(f64::NAN),
        (None, false) => {
            table.need("temperature", problems);
            None
        }
        (Some(entry), _) => medium_temperature(&entry, medium, problems),
    };
    let film = film(table, medium, problems);
    let film_factor = table.number_or("film_factor", 1.0, problems);
    let emissivity = emissivity(table, medium, film.as_ref(), problems);
    let wetting = wetting::read(table, medium, shape, problems);
    let (passes, turn) = read_passes(table, problems);
    let film_at_speed = film_at_speed(table, film.as_ref(), problems);
    let time_max = table.value_if_any("time_max", problems);
    let circulation = circulation::read(table, medium, shape, passes, problems);
    let volume = table.value_if_any("volume", problems);
    if let (Some(entry), false) = (table.get("volume"), table.has("flow") || table.has("supply")) {
        let message = "the volume of water that is held at its temperature changes nothing";
        entry.wrong(
            problems,
            message,
            "no flow",
            "add flow = \"60 L/min\" and direction = \"mixed\", or take volume away",
        );
    }
    let span = (|| {
        let (passes, length) = (passes? as f64, length?);
        Some(passes * length + (passes - 1.0) * turn.as_ref()?.length)
    })();
    let section = (|| {
        Some(Section {
            name: name.clone()?,
            medium: medium?,
            length: length?,
            temperature: Celsius(temperature?),
            film: film?,
            film_factor: film_factor?,
            emissivity: emissivity?,
            wetting: wetting?,
            circulation: circulation?,
            supply: None,
            passes: passes?,
            turn: turn?,
            film_exponent: film_at_speed?[0],
            film_floor: film_at_speed?[1],
            time_max: time_max?,
            volume: volume?,
        })
    })();
    ReadSection { name, span, section }
}

/// How often the product passes through, and what lies between; the air's temperature comes later where it is not given.
fn read_passes(table: &Table<'_>, problems: &mut Problems) -> (Option<usize>, Option<Turn>) {
    let passes = match table.get("passes") {
        Some(entry) => entry.count(problems),
        None => Some(1),
    };
    let length = match (table.get("turn"), passes) {
        (Some(entry), _) => entry.value(problems),
        (None, Some(1) | None) => Some(0.0),
        (None, Some(_)) => {
            table.need("turn", problems);
            None
        }
    };
    let temperature = match table.get("turn_temperature") {
        Some(entry) => entry.value(problems),
        None => Some(ROOM.0),
    };
    let turn = length.zip(temperature).map(|(length, air)| Turn::in_air(length, Celsius(air)));
    (passes, turn)
}

/// Water is liquid; air may be a heated zone.
fn medium_temperature(entry: &Entry<'_>, medium: Option<Medium>, problems: &mut Problems) -> Option<f64> {
    let temperature = entry.value(problems)?;
    if medium.is_some_and(Medium::is_water) && !(LIQUID[0]..=LIQUID[1]).contains(&temperature) {
        let written = quoted(entry.value.get_ref().as_str().unwrap_or_default());
        let help = "temperature of water takes 0 degC to 100 degC";
        entry.wrong(problems, format!("{written} is not the temperature of liquid water"), "out of range", help);
        return None;
    }
    Some(temperature)
}

/// What is given, the law that is named, or the medium's own.
fn film(table: &Table<'_>, medium: Option<Medium>, problems: &mut Problems) -> Option<Film> {
    if let Some(entry) = table.get("film") {
        let given = given_film(&entry, problems);
        if let Some(law) = table.get("law") {
            let help = "keep one of film and law";
            law.wrong(problems, "film and law are both given, a section has one", "beside a film", help);
            return None;
        }
        return refuse_inputs(table, &[], "a given film", medium, problems).and(given);
    }
    let law = match table.get("law") {
        Some(entry) => named_law(&entry, medium?, problems)?,
        None if table.has("law") => return None,
        None => film::default_law(medium?),
    };
    let taken =
        refuse_inputs(table, &law.keys().collect::<Vec<_>>(), &format!("the law \"{}\"", law.name), medium, problems);
    let inputs = law.takes.iter().try_fold(Inputs::default(), |inputs, input| {
        let Some(entry) = table.get(input.key()) else {
            if !table.has(input.key()) {
                note_missing_input(table, law, *input, problems);
            }
            return None;
        };
        Some(input.set(inputs, entry.value(problems)?))
    });
    let inputs = law.may_take.iter().try_fold(inputs?, |inputs, input| match table.get(input.key()) {
        Some(entry) if input.dimension().is_some() => Some(input.set(inputs, entry.value(problems)?)),
        Some(entry) => Some(input.set(inputs, entry.number(problems)?)),
        None => (!table.has(input.key())).then_some(inputs),
    });
    taken.and(Some(Film::Law(law, inputs?)))
}

/// The law of that name, if it is one of this medium.
fn named_law(entry: &Entry<'_>, medium: Medium, problems: &mut Problems) -> Option<&'static Law> {
    let law = &film::laws()[entry.choice(problems)?];
    if law.medium == medium {
        return Some(law);
    }
    let fitting = film::laws().iter().filter(|law| law.medium == medium).map(|law| quoted(law.name));
    entry.wrong(
        problems,
        format!(
            "the law {} is one for {}, this section's medium is {}",
            quoted(law.name),
            law.medium.name(),
            medium.name()
        ),
        format!("not for {}", medium.name()),
        format!("laws for {} are {}", medium.name(), listed(fitting, "and")),
    );
    None
}

/// Notes the keys of laws that this one does not take; none if there are any.
fn refuse_inputs(
    table: &Table<'_>,
    taken: &[Input],
    who: &str,
    medium: Option<Medium>,
    problems: &mut Problems,
) -> Option<()> {
    let unwanted: Vec<Entry<'_>> =
        Input::ALL.iter().filter(|input| !taken.contains(input)).filter_map(|input| table.get(input.key())).collect();
    for entry in &unwanted {
        let key = entry.key.name;
        let takers = film::laws().iter().filter(|law| law.keys().any(|input| input.key() == key));
        let (here, elsewhere): (Vec<&Law>, Vec<&Law>) = takers.partition(|law| Some(law.medium) == medium);
        let instead = match (here.is_empty(), medium) {
            (true, Some(medium)) => format!("; no law for {} takes it", medium.name()),
            (true, None) => {
                format!("laws that take it are {}", listed(elsewhere.iter().map(|l| quoted(l.name)), "and"))
            }
            (false, _) => {
                format!(", or name a law that takes it: {}", listed(here.iter().map(|l| quoted(l.name)), "or"))
            }
        };
        let help = format!("take {key} away here{instead}");
        entry.wrong(problems, format!("{who} does not take {key}"), "not taken", help);
    }
    unwanted.is_empty().then_some(())
}

fn note_missing_input(table: &Table<'_>, law: &Law, input: Input, problems: &mut Problems) {
    let key = input.key();
    let example = crate::names::keys::find(Place::Section, key).map_or("", |key| key.example);
    let practice = match law.medium {
        Medium::Spray => ", or film = \"3000 W/(m2 K)\" (1500 to 5000 is common practice, no source)",
        Medium::Air | Medium::Water => "",
    };
    let what = format!("{key} of the law \"{}\"", law.name);
    table.note_missing(&what, &format!("{key} = {example}{practice}"), problems);
}

/// One coefficient, or a table of it.
fn given_film(entry: &Entry<'_>, problems: &mut Problems) -> Option<Film> {
    if !matches!(entry.value.get_ref(), DeValue::Table(_)) {
        return entry.value(problems).map(Film::Given);
    }
    let table = Table::open(entry.value, Place::FilmTable, entry.path.clone(), problems)?;
    let read = |entry: &Entry<'_>, problems: &mut Problems| match entry.key.kind {
        Kind::Points(x, y) => entry.points(x, y, problems),
        _ => None,
    };
    match (table.get("surface"), table.get("distance")) {
        (Some(entry), None) => read(&entry, problems).map(Film::OfSurface),
        (None, Some(entry)) => read(&entry, problems).map(Film::OfDistance),
        (Some(_), Some(second)) => {
            let help = "keep one of surface and distance";
            second.wrong(problems, "surface and distance are both given, a film table has one", "a second table", help);
            None
        }
        (None, None) => {
            if !table.has("surface") && !table.has("distance") {
                let example = "surface = [[\"20 degC\", \"8 W/(m2 K)\"], [\"200 degC\", \"18 W/(m2 K)\"]], or distance";
                table.note_missing("surface or distance", example, problems);
            }
            None
        }
    }
}

/// Exponent and floor with which a given film goes with the line speed; a law knows that itself.
fn film_at_speed(table: &Table<'_>, film: Option<&Film>, problems: &mut Problems) -> Option<[f64; 2]> {
    let exponent = table.number_or("film_exponent", 0.0, problems);
    let floor = table.value_or("film_floor", 0.0, problems);
    if let Some(Film::Law(law, _)) = film
        && let Some(entry) = table.get("film_exponent").or_else(|| table.get("film_floor"))
    {
        let key = entry.key.name;
        let help = format!("take {key} away here, or give a film: film = \"3500 W/(m2 K)\"");
        let message = format!("the law \"{}\" goes with the line speed itself, {key} is for a given film", law.name);
        entry.wrong(problems, message, "beside a law", help);
        return None;
    }
    Some([exponent?, floor?])
}

/// Given, or that of plastics where a law gives the convection: a given coefficient is taken to include radiation.
fn emissivity(table: &Table<'_>, medium: Option<Medium>, film: Option<&Film>, problems: &mut Problems) -> Option<f64> {
    let Some(entry) = table.get("emissivity") else {
        let radiates = medium == Some(Medium::Air) && matches!(film, Some(Film::Law(..)));
        return Some(if radiates { crate::film::surface::EMISSIVITY } else { 0.0 });
    };
    let emissivity = entry.number(problems)?;
    if medium.is_some_and(Medium::is_water) && emissivity > 0.0 {
        let help = "take emissivity away here, or say medium = \"air\"";
        entry.wrong(problems, "a surface in water does not radiate", "in water", help);
        return None;
    }
    Some(emissivity)
}
