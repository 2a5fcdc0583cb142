//! Accumulators, gauges, water, melts in their heads, and how sure and how exact the answer is, in sentences.

use quenchway::study::drive::answer::Answer;
use quenchway::units::Dimension;

use crate::shown::Shown;
use crate::{clean, significant};

pub(super) fn accumulators(found: &Answer, shown: Shown) -> Vec<String> {
    let metres = |value| shown.with_unit(value, Dimension::Length);
    let time = |value| shown.with_unit(value, Dimension::Time);
    let told = found.accumulators.iter().map(|one| {
        let mut words = format!(
            "\"{}\" at the {}, {}: from {} at {} to {} at {}.",
            clean(&one.name),
            one.place,
            metres(one.capacity_m),
            metres(one.lowest_m),
            time(one.lowest_at_s),
            metres(one.highest_m),
            time(one.highest_at_s),
        );
        let what = if one.place == "exit" { "room" } else { "content" };
        words += &if one.left_m < 0.0 {
            format!(" {} LACK at the worst moment beyond the reserve.", metres(-one.left_m))
        } else {
            let lasts =
                one.left_s.map_or(String::new(), |left| format!(", {} at the speed of that moment", time(left)));
            format!(" {} of {what} beyond the reserve left at the worst moment{lasts}.", metres(one.left_m))
        };
        for (begins, back) in one.changes_s.iter().zip(&one.back_s) {
            words += &match back {
                Some(back) => format!(" The change of reel at {} is made up for at {}.", time(*begins), time(*back)),
                None => format!(" The change of reel at {} is never made up for.", time(*begins)),
            };
        }
        words
    });
    told.collect()
}

pub(super) fn gauges(found: &Answer, shown: Shown) -> Vec<String> {
    let time = |value| shown.with_unit(value, Dimension::Time);
    let size = |value: f64| {
        let text = shown.with_unit(value, Dimension::Diameter);
        if text.starts_with('-') { text } else { format!("+{text}") }
    };
    let differs = |[low, high]: [f64; 2]| match [low, high].map(size) {
        _ if [low, high].iter().all(|value| shown.is_nothing(*value, Dimension::Diameter)) => {
            format!("less than {}", shown.half_a_digit(Dimension::Diameter))
        }
        [low, high] if low == high => low,
        [low, high] => format!("{low} to {high}"),
    };
    let told = found.gauges.iter().map(|gauge| {
        format!(
            "\"{}\" sees a correction at the die {} of product later, at every speed: {} to {} here. Its reading differs \
             from the finished size of the same metre by {}. From what leaves the die at that moment it differs by {}.",
            clean(&gauge.station),
            shown.with_unit(gauge.distance_m, Dimension::Length),
            time(gauge.delay_s[0]),
            time(gauge.delay_s[1]),
            differs(gauge.over_finished_m),
            differs(gauge.over_die_m),
        )
    });
    told.collect()
}

/// Stirred tanks with a flow: their way through the programme, or both ends of it.
pub(super) fn water(found: &Answer, shown: Shown) -> Vec<String> {
    let warm = |value| shown.with_unit(value, Dimension::Temperature);
    let time = |value| shown.with_unit(value, Dimension::Time);
    let metres = |value| shown.with_unit(value, Dimension::Length);
    let mut told = Vec::new();
    for water in &found.water {
        let name = clean(&water.section);
        told.push(match (water.residence_s, water.ends, water.scrap_at_ends_m) {
            (Some(residence), ..) => format!(
                "\"{name}\" is a stirred tank in which the water stays {}. It is at {} before the programme and goes from {} at {} to {} at \
                 {}. The change of the load alone would move it by {}.",
                time(residence),
                warm(water.before),
                warm(water.lowest[0]),
                time(water.lowest[1]),
                warm(water.highest[0]),
                time(water.highest[1]),
                shown.with_unit(water.load_rise.unwrap_or(f64::NAN), Dimension::TemperatureDifference),
            ),
            (None, Some([low, high]), Some([scrap_low, scrap_high])) => format!(
                "The volume of \"{name}\" is not known: the program holds its water at {}, as before the programme. It stays between {} \
                 (lowest load) and {} (highest load). Scrap is {} with the one and {} with the other. Give `volume` to follow it.",
                warm(water.before),
                warm(low),
                warm(high),
                metres(scrap_low),
                metres(scrap_high),
            ),
            _ => format!("\"{name}\" is held at {}.", warm(water.before)),
        });
    }
    told
}

pub(super) fn heads(found: &Answer, shown: Shown) -> Vec<String> {
    let time =
        |value: Option<f64>| value.map_or("for ever".to_string(), |value| shown.with_unit(value, Dimension::Time));
    let told = found.heads.iter().map(|head| {
        let allowed = head.max_s.map_or(String::new(), |most| format!(", {} allowed", shown.with_unit(most, Dimension::Time)));
        format!(
            "\"{}\" is {} between screw and die before the programme, and at most {} (it leaves at {}{allowed}). This is plug flow: the \
             real spread is wider.",
            clean(&head.layer),
            time(head.before_s),
            time(head.longest_s),
            shown.with_unit(head.at_s, Dimension::Time),
        )
    });
    told.collect()
}

pub(super) fn sure(found: &Answer, shown: Shown) -> Vec<String> {
    let told = found.band.iter().map(|band| {
        let dimension = band.limit.dimension();
        format!(
            "{} at \"{}\" of metre {}: {} to {} by the uncertainty of the inputs. Most of it comes from {}.",
            band.limit.words,
            clean(&band.station),
            shown.number(band.metre_m, Dimension::Length),
            shown.number(band.low, dimension),
            shown.with_unit(band.high, dimension),
            crate::band::words(&band.largest).0,
        )
    });
    told.collect()
}

pub(super) fn accuracy(found: &Answer, shown: Shown) -> Vec<String> {
    let kelvin = |value: f64| significant(shown.value(value, Dimension::TemperatureDifference));
    let unit = shown.unit(Dimension::TemperatureDifference);
    let numerics = &found.numerics;
    let mut told = vec![format!(
        "Numerical error {} {unit} ({} {unit} wanted); {} metres computed in {} smooth pieces, {} s.",
        kelvin(numerics.error),
        kelvin(numerics.tolerance),
        numerics.slices,
        numerics.pieces,
        significant(numerics.wall),
    )];
    if found.scrap_high_m > found.scrap_low_m {
        let metres = |value| shown.with_unit(value, Dimension::Length);
        told.push(format!(
            "With the limits moved by that error the scrap is {} to {}.",
            metres(found.scrap_low_m),
            metres(found.scrap_high_m)
        ));
    }
    if found.approximate_m > 0.0 {
        told.push(format!(
            "Approximate, {}: product that stood near a boundary, where heat flows along the line.",
            shown.with_unit(found.approximate_m, Dimension::Length)
        ));
    }
    told
}
