//! The best trough in words: the verdict, before and after, what one step costs, what the aim is traded with.

use quenchway::case::{Aim, CaseFile};
use quenchway::march::solution::Skin;
use quenchway::names::key_path::KeyPath;
use quenchway::study::stages::{
    Front, Grid as FullGrid, Neighbour, Number, Of, Requirement, Setting, Staged, StagesError, wet_length,
};
use quenchway::units::{Dimension, show};

use super::blocks::{Block, Cell, Grid, Mark, Part, Report, Tone};
use super::tables::head;
use super::{clean, design};
use crate::shown::Shown;

/// The answer and what is told of it.
pub struct Told<'a> {
    /// The case.
    pub case: &'a CaseFile,
    /// The answer.
    pub staged: &'a Staged,
}

/// An aim with its unit.
pub fn aim(of: Aim, value: f64, shown: Shown) -> String {
    match of {
        Aim::Fastest => digits(value, Dimension::Speed, shown),
        Aim::Shortest => shown.with_unit(value, Dimension::Length),
        Aim::LeastVoid => format!("{value:.2} %"),
        Aim::Cheapest => format!("{:.2} /h", 3600.0 * value),
    }
}

/// A speed in four digits, as the search prints it.
fn digits(value: f64, dimension: Dimension, shown: Shown) -> String {
    let (number, unit) = show(value, dimension, shown.system);
    let text = format!("{:e}", number.abs());
    let exponent: i32 = text.rsplit_once('e').and_then(|(_, exponent)| exponent.parse().ok()).unwrap_or(0);
    let decimals = usize::try_from(3 - exponent).unwrap_or(0).min(6);
    format!("{number:.decimals$} {unit}")
}

/// A number of the case in words: "length of \"warm trough\"".
pub fn name(case: &CaseFile, number: &Number) -> String {
    let path = &number.variable.path;
    let Ok(KeyPath { table, name, key, .. }) = KeyPath::parse(path) else { return clean(path) };
    let name = name.map(|name| format!("\"{}\"", clean(&name))).unwrap_or_default();
    let wet =
        |name: &str| case.sections.iter().any(|s| format!("\"{}\"", clean(&s.name)) == name && s.medium.is_water());
    match (table.as_str(), key.as_str()) {
        ("line", "speed") => "line speed".to_string(),
        ("section", "temperature") => format!("{} in {name}", if wet(&name) { "water" } else { "air" }),
        ("section", "length") => format!("length of {name}"),
        ("section", "flow") => format!("water flow of {name}"),
        ("layer", "temperature") => format!("{name} at the die"),
        _ => clean(path),
    }
}

/// A requirement in words.
pub fn words(case: &CaseFile, requirement: &Requirement) -> String {
    match &requirement.of {
        Of::Ceiling(ceiling) => design::words(case, ceiling),
        Of::Output(output) => match requirement.melt(case) {
            Some(layer) => format!("melt shrink under the skin of \"{}\"", clean(case.layer_name(layer))),
            None => clean(&output.describes),
        },
        Of::Line => "length of the line".to_string(),
    }
}

/// A value of a requirement with its unit.
pub fn amount(requirement: &Requirement, value: f64, shown: Shown) -> String {
    match requirement.dimension() {
        Dimension::Share => format!("{value:.2} %"),
        dimension => shown.with_unit(value, dimension),
    }
}

/// What is left below a limit of which so much must stay to spare: "70 degC less 12.0 K".
fn less(max: String, kept: f64, shown: Shown) -> String {
    match kept > 0.0 {
        true => format!("{max} less {}", shown.with_unit(kept, Dimension::TemperatureDifference)),
        false => max,
    }
}

/// Why there is no best trough.
pub fn refusal(case: &CaseFile, error: &StagesError, shown: Shown) -> String {
    let StagesError::Unmet { requirement, value, at } = error else { return error.message(shown.system) };
    let there = at.iter().map(|(number, value)| {
        format!("{} {}", name(case, number), clean(&number.variable.show(*value, shown.system)))
    });
    format!(
        "nothing within the bounds meets everything: with {}, the {} is {}; the most that is allowed is {}",
        there.collect::<Vec<_>>().join(", "),
        words(case, requirement),
        amount(requirement, *value, shown),
        less(amount(requirement, requirement.max, shown), requirement.margin, shown)
    )
}

impl Told<'_> {
    /// Everything that is told.
    pub fn report(&self, shown: Shown) -> Report {
        let staged = self.staged;
        let mut parts = vec![
            Part::new("Verdict", self.verdict(shown)),
            Part::new("Today and the best", vec![Block::Table(self.beside(shown))]),
            Part::new("What one step of each number does", self.steps(shown)),
        ];
        if let Some(front) = &staged.front {
            parts.push(Part::new("What the aim costs", self.front(front, shown)));
        }
        if let Some(grid) = &staged.grid {
            parts.push(Part::new("A full grid beside it", vec![self.grid(grid, shown)]));
        }
        parts.extend(design::notes(&staged.after.case, Some(&staged.after.solution), shown));
        let about = format!(
            "What is the best trough within the bounds? The case runs at {}; it is {}.",
            shown.with_unit(self.case.line_speed, Dimension::Speed),
            design::lengths_of_line(self.case, shown),
        );
        Report::new(&self.case.title, about, parts)
    }

    fn verdict(&self, shown: Shown) -> Vec<Block> {
        let staged = self.staged;
        let of_aim = |value: f64| aim(staged.aim, value, shown);
        if let Some(grid) = staged.grid.as_ref().filter(|grid| grid.better()) {
            let text = format!(
                "NO ANSWER: a full grid found {}, {:.2} % better than the {} of the search. The program withdraws the answer. \
                 This is a fault of the program.",
                grid.best.map(of_aim).unwrap_or_default(),
                100.0 * grid.by,
                of_aim(staged.after.told.aim)
            );
            return vec![Block::stressed(Mark::None, text, Tone::Bad, "NO ANSWER")];
        }
        let best = match staged.aim {
            Aim::Fastest => "FASTEST SPEED WITHIN THE BOUNDS",
            Aim::Shortest => "SHORTEST TROUGH WITHIN THE BOUNDS",
            Aim::LeastVoid => "LEAST MELT SHRINK WITHIN THE BOUNDS",
            Aim::Cheapest => "LOWEST COST WITHIN THE BOUNDS",
        };
        let stress = format!("{best}: {}", of_aim(staged.after.told.aim));
        let today = staged.before.as_ref().map(|before| of_aim(before.told.aim));
        let today = today.map_or("today's line has no answer".to_string(), |today| format!("{today} today"));
        let text = format!("{stress} ({today}). {}", self.settings(shown));
        let mut blocks = vec![Block::stressed(Mark::None, text, Tone::Good, &stress)];
        blocks.push(Block::words(Mark::None, self.held(shown)));
        blocks.extend(self.skins(shown));
        blocks.extend(self.today(shown));
        if let Some(end) = staged.unfavourable {
            let text = format!("{} allows for the uncertainty of the inputs.", of_aim(end));
            blocks.push(Block::words(Mark::None, text));
        }
        if staged.as_good() {
            let text = "Today's setting is as good, as far as the inputs are known. The gain is less than what their \
                        uncertainty moves the answer by.";
            blocks.push(Block::stressed(Mark::Warning, text, Tone::Warn, "Today's setting is as good"));
        }
        for &(number, high) in &staged.on_bound {
            let own = &staged.numbers[number];
            let bound = own.variable.show(own.bounds[usize::from(high)], shown.system);
            let (bound, which) = (clean(&bound), if high { "highest" } else { "lowest" });
            let text = format!(
                "{} lies on its bound: {bound} is the {which} value that the case allows. Beyond it there may be more to gain.",
                name(self.case, own)
            );
            blocks.push(Block::stressed(Mark::Warning, text, Tone::Warn, "lies on its bound"));
        }
        blocks
    }

    /// The numbers that were set, beside what they are today; the line speed is the aim where that is so.
    fn settings(&self, shown: Shown) -> String {
        let staged = self.staged;
        let one = |(index, number): (usize, &Number)| {
            let today = number.variable.show(number.variable.get(self.case), shown.system);
            let (own, today) = (clean(&staged.printed[index]), clean(&today));
            let instead = if own == today { "as today".to_string() } else { format!("instead of {today}") };
            format!("{}: {own} {instead}.", sentence(&name(self.case, number)))
        };
        let told = staged.numbers.iter().enumerate();
        let told = told.filter(|(_, number)| staged.aim != Aim::Fastest || number.variable.path != "line.speed");
        let told: Vec<String> = told.map(one).collect();
        if told.is_empty() { "The line speed alone is set.".to_string() } else { told.join(" ") }
    }

    /// What holds the answer.
    fn held(&self, shown: Shown) -> String {
        let staged = self.staged;
        let one = |&which: &usize| {
            let requirement = &staged.requirements[which];
            let value = amount(requirement, staged.after.told.values[which], shown);
            let max = amount(requirement, requirement.max, shown);
            let kept = requirement.margin + staged.band[which];
            let kept = match kept > 0.0 {
                true => format!(", {} kept", shown.with_unit(kept, Dimension::TemperatureDifference)),
                false => String::new(),
            };
            format!("{} ({value} of {max}{kept})", words(self.case, requirement))
        };
        let things: Vec<String> = staged.binding.iter().map(one).collect();
        match &things[..] {
            [] if staged.on_bound.is_empty() => "No limit holds it: it lies within the bounds.".to_string(),
            [] => "No limit holds it, the bounds do.".to_string(),
            [thing] => format!("One thing holds it: {thing}."),
            things => format!("{} things hold it: {}.", counted(things.len()), things.join(", ")),
        }
    }

    /// Where the skins set, and in which section.
    fn skins(&self, shown: Shown) -> Vec<Block> {
        let solution = &self.staged.after.solution;
        let line = |skin: &Skin| {
            let (distance, melt) = (skin.distance?, skin.melt_shrink?);
            let section = solution.sections.iter().find(|section| distance <= section.end)?;
            let text = format!(
                "The skin of \"{}\" sets at {}, in \"{}\", over melt that has still {melt:.2} % to lose.",
                clean(&skin.layer),
                shown.with_unit(distance, Dimension::Length),
                clean(&section.name)
            );
            Some(Block::words(Mark::None, text))
        };
        solution.skins.iter().filter(|skin| skin.melt_shrink > Some(0.0)).filter_map(line).collect()
    }

    /// What today's line misses.
    fn today(&self, shown: Shown) -> Vec<Block> {
        let staged = self.staged;
        let Some(before) = &staged.before else { return Vec::new() };
        let missed = |(index, requirement): (usize, &Requirement)| {
            let allowed = requirement.max - requirement.margin - staged.band[index];
            let value = before.told.values[index];
            let text = format!(
                "{} is {} where {} are allowed",
                words(self.case, requirement),
                amount(requirement, value, shown),
                amount(requirement, allowed, shown)
            );
            // A value that is not a number is missed, too.
            let met = value <= allowed;
            (!met).then_some(text)
        };
        let missed: Vec<String> = staged.requirements.iter().enumerate().filter_map(missed).collect();
        if missed.is_empty() {
            return Vec::new();
        }
        vec![Block::words(Mark::None, format!("Today's line does not meet every limit: {}.", missed.join("; ")))]
    }

    fn beside(&self, shown: Shown) -> Grid {
        let (staged, case) = (self.staged, self.case);
        let mut table = Grid::new(vec![String::new(), "today".to_string(), "best".to_string(), "allowed".to_string()]);
        let before = staged.before.as_ref();
        let pair = |value: &dyn Fn(&Setting) -> String| [before.map_or("-".to_string(), value), value(&staged.after)];
        let mut add = |name: String, [today, best]: [String; 2], allowed: String| {
            table.row(vec![Cell::from(name), today.into(), best.into(), allowed.into()]);
        };
        for (index, number) in staged.numbers.iter().enumerate() {
            let shown_value = |value: f64| clean(&number.variable.show(value, shown.system));
            let [low, high] = number.bounds.map(shown_value);
            let today = shown_value(number.variable.get(case));
            add(name(case, number), [today, clean(&staged.printed[index])], format!("{low} to {high}"));
        }
        if !staged.numbers.iter().any(|number| number.variable.path == "line.speed") {
            let speed = pair(&|setting| shown.with_unit(setting.case.line_speed, Dimension::Speed));
            add("line speed".to_string(), speed, String::new());
        }
        let metres = pair(&|setting| shown.with_unit(wet_length(&setting.case), Dimension::Length));
        add("length of all water".to_string(), metres, String::new());
        for (index, requirement) in staged.requirements.iter().enumerate().filter(|(_, r)| !matches!(r.of, Of::Line)) {
            let values = pair(&|setting| amount(requirement, setting.told.values[index], shown));
            let kept = requirement.margin + staged.band[index];
            let allowed = less(amount(requirement, requirement.max, shown), kept, shown);
            add(words(case, requirement), values, allowed);
        }
        for skin in &staged.after.solution.skins {
            let of = |setting: &Setting| setting.solution.skins.iter().find(|other| other.layer == skin.layer).cloned();
            let layer = clean(&skin.layer);
            let melts = pair(&|setting| {
                of(setting).and_then(|skin| skin.melt_shrink).map_or("-".to_string(), |melt| format!("{melt:.2} %"))
            });
            let limited =
                staged.requirements.iter().any(|r| r.melt(case).is_some_and(|l| case.layer_name(l) == skin.layer));
            if !limited {
                add(format!("melt shrink under the skin of \"{layer}\""), melts, String::new());
            }
            let at = |metres: Option<f64>| shown.with_unit(metres.unwrap_or(f64::NAN), Dimension::Length);
            add(
                format!("skin of \"{layer}\" sets at"),
                pair(&|s| at(of(s).and_then(|skin| skin.distance))),
                String::new(),
            );
            let through = |setting: &Setting| {
                let found = setting.solution.set_through.iter().find(|through| through.layer == skin.layer);
                at(found.and_then(|through| through.distance))
            };
            add(format!("\"{layer}\" sets through at"), pair(&through), String::new());
            let left = |setting: &Setting| {
                let found = setting.left_to_set().into_iter().find(|(name, _)| *name == skin.layer);
                found.map_or("-".to_string(), |(_, percent)| format!("{percent:.1} %"))
            };
            add(format!("left to set of \"{layer}\" at the end"), pair(&left), String::new());
        }
        let power = |value: f64| shown.with_unit(value, Dimension::Power);
        add("heat to the water".to_string(), pair(&|setting| power(setting.solution.chiller_duty)), String::new());
        add("heat to warm the product".to_string(), pair(&|setting| power(setting.heating())), String::new());
        if matches!(staged.aim, Aim::Cheapest | Aim::LeastVoid) {
            add("aim".to_string(), pair(&|setting| aim(staged.aim, setting.told.aim, shown)), String::new());
        }
        table
    }

    fn steps(&self, shown: Shown) -> Vec<Block> {
        let (staged, case) = (self.staged, self.case);
        let held: Vec<usize> = staged
            .binding
            .iter()
            .copied()
            .filter(|&which| !matches!(staged.requirements[which].of, Of::Line))
            .collect();
        let mut header = vec!["step".to_string(), "aim".to_string()];
        header.extend(
            held.iter()
                .map(|&which| staged.requirements[which].name.replacen('.', "\n", 1))
                .map(|name| clean_lines(&name)),
        );
        header.push("then".to_string());
        let mut table = Grid::new(header.clone()).with_words(&[header.len() - 1]);
        for neighbour in &staged.neighbours {
            let number = &staged.numbers[neighbour.number];
            let mut row =
                vec![format!("{} {}", name(case, number), signed(neighbour.by, number.variable.dimension, shown))];
            row.push(self.aim_change(neighbour, shown));
            row.extend(held.iter().map(|&which| {
                signed(neighbour.change.values[which], Some(staged.requirements[which].dimension()), shown)
            }));
            row.push(match neighbour.missed {
                None => "all holds".to_string(),
                Some(which) => format!("{} is missed", words(case, &staged.requirements[which])),
            });
            table.row(row);
        }
        vec![Block::Table(table)]
    }

    fn aim_change(&self, neighbour: &Neighbour, shown: Shown) -> String {
        let change = neighbour.change.aim;
        match self.staged.aim {
            Aim::Fastest => signed(change, Some(Dimension::Speed), shown),
            Aim::Shortest => signed(change, Some(Dimension::Length), shown),
            Aim::LeastVoid => signed(change, Some(Dimension::Share), shown),
            Aim::Cheapest => format!("{:+.2} /h", 3600.0 * change),
        }
    }

    fn front(&self, front: &Front, shown: Shown) -> Vec<Block> {
        let (staged, case) = (self.staged, self.case);
        let traded = &staged.requirements[front.requirement];
        let mut header = vec!["at most".to_string(), "best aim".to_string()];
        for number in &staged.numbers {
            let name = name(case, number);
            header.push(match number.variable.dimension {
                Some(dimension) => head(&name, shown, dimension),
                None => name,
            });
        }
        let mut table = Grid::new(header);
        for point in &front.points {
            let mut row = vec![amount(traded, point.limit, shown), aim(staged.aim, point.aim, shown)];
            row.extend(staged.numbers.iter().zip(&point.values).map(
                |(number, value)| match number.variable.dimension {
                    Some(Dimension::Speed) => {
                        digits(*value, Dimension::Speed, shown).split(' ').next().unwrap_or("").to_string()
                    }
                    Some(dimension) => shown.number(*value, dimension),
                    None => format!("{value:.3}"),
                },
            ));
            table.row(row);
        }
        let text = format!(
            "Each row is the best with another limit of the {}. The limits go from today's value to the least that is \
             possible within the bounds. Numbers that go in steps do so here, too. The others are not rounded.",
            words(case, traded)
        );
        vec![Block::words(Mark::Indent, text), Block::Table(table)]
    }

    fn grid(&self, grid: &FullGrid, shown: Shown) -> Block {
        let of_aim = |value: f64| aim(self.staged.aim, value, shown);
        let text = match grid.best {
            None => format!("Everything holds at none of {} places: the answer lies between them.", grid.places),
            Some(best) => format!(
                "Everything holds at {} of {} places over the bounds and about the answer. The best of them is {}, {:.2} % {} than \
                 the answer.",
                grid.held,
                grid.places,
                of_aim(best),
                100.0 * grid.by.abs(),
                if grid.by > 0.0 { "better" } else { "worse" }
            ),
        };
        Block::words(Mark::Indent, text)
    }
}

/// A change with its sign and unit.
fn signed(change: f64, dimension: Option<Dimension>, shown: Shown) -> String {
    let Some(dimension) = dimension else { return format!("{change:+}") };
    let difference = if dimension == Dimension::Temperature { Dimension::TemperatureDifference } else { dimension };
    let (number, unit) = show(change, difference, shown.system);
    if !number.is_finite() { "-".to_string() } else { format!("{number:+.2} {unit}") }
}

/// Text of the user in a header: its line feeds are ours.
fn clean_lines(text: &str) -> String {
    text.split('\n').map(clean).collect::<Vec<_>>().join("\n")
}

/// With a capital letter, as a sentence begins.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| first.to_uppercase().chain(chars).collect())
}

fn counted(count: usize) -> &'static str {
    match count {
        2 => "Two",
        3 => "Three",
        4 => "Four",
        _ => "Several",
    }
}
