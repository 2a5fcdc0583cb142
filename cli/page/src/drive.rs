//! The line's programme on the page: how many metres are scrap, and what a station sees over time.

use maud::{Markup, html};
use quenchway::case::CaseFile;
use quenchway::study::drive::answer::{Answer, StationOverTime, answer};
use quenchway::units::Dimension;
use quenchway_words::html::blocks;
use quenchway_words::{Shown, clean, drive};

use crate::frame::Frame;
use crate::wish::{Told, Wish};

/// Drives the case to the wish's tolerance; nothing where it runs at one speed.
pub fn told(case: &CaseFile, wish: &Wish) -> Result<Told, String> {
    if case.programme.is_empty() {
        return Ok(Told::default());
    }
    let shown = Shown { system: wish.system() };
    let quick = case.clone().to(wish.tolerance.max(case.tolerance));
    let found = answer(&quick, None, false, &|_| ()).map_err(|error| clean(&error.to_string()))?;
    let words = blocks(&drive::verdict(&quick, &found, shown));
    let picture = station(&found).map(|(index, station)| over_time(&found, (index, station), shown, wish.width));
    let error = shown.with_unit(found.numerics.error, Dimension::TemperatureDifference);
    let markup = html! {
        (words)
        p.hint { "The page drives the programme quickly, with an error of up to " (error) " in temperatures." }
        @if let Some(picture) = picture { (picture) }
    };
    Ok(Told { drive: Some(markup.into_string()), ..Told::default() })
}

/// The station that sees product out of its limits for longest; without any the last that has a limit of a temperature.
fn station(found: &Answer) -> Option<(usize, &StationOverTime)> {
    let limited =
        found.stations.iter().enumerate().filter(|(_, station)| station.limits.iter().any(|one| !one.of.is_diameter()));
    let out = |station: &StationOverTime| station.limits.iter().map(|limit| limit.out_s).sum::<f64>();
    limited.max_by(|a, b| out(a.1).total_cmp(&out(b.1)))
}

/// Surface and core that a station sees over time; shaded where a limit is not met.
fn over_time(found: &Answer, (index, station): (usize, &StationOverTime), shown: Shown, width: f64) -> Markup {
    let seen = |value: usize| -> Vec<[f64; 2]> {
        let rows = found.rows.time.iter().zip(&found.rows.seen[index]);
        rows.map(|(&time, seen)| [time, shown.value(seen[value], Dimension::Temperature)]).collect()
    };
    let [surface, core] = [seen(1), seen(2)];
    let limits: Vec<(f64, String)> = station
        .limits
        .iter()
        .filter(|limit| !limit.of.is_diameter())
        .map(|limit| {
            let words = format!("{} ≤ {}", clean(&limit.of.words), shown.limit(limit.limit).replace("deg", "°"));
            (shown.value(limit.limit, Dimension::Temperature), words)
        })
        .collect();
    let points = surface.iter().chain(&core);
    let ys = points.clone().map(|point| point[1]).chain(limits.iter().map(|limit| limit.0));
    let frame = Frame::new(width, points.map(|point| point[0]), ys);
    let (names, height) = frame.names(&[("surface", "surface".to_string()), ("core", "core".to_string())]);
    let name = clean(&station.name);
    let unit = shown.unit(Dimension::Temperature).replace("deg", "°");
    let inside = html! {
        @for span in station.limits.iter().flat_map(|limit| &limit.out_times_s) { (frame.shade("scrap", *span, "")) }
        (frame.axes("time since the programme began, s", &unit))
        @for (value, words) in &limits { (frame.level(*value, words)) }
        (frame.curve("core", &core))
        (frame.curve("surface", &surface))
        (names)
    };
    let told = format!("Surface and core that {name} sees over time; shaded while a limit is not met.");
    html! {
        figure {
            figcaption { "What \"" (name) "\" sees over time; shaded: out of limits" }
            (maud::PreEscaped(frame.svg(height, &told, &inside)))
        }
    }
}
