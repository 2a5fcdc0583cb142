//! The water of a line over a range of speeds: heat, flow for a given rise, outlet temperature, chiller duty; water along the
//! product and against it compared.
//!
//! At every speed the case is marched carefully three times: as it is, with all its flowing water along the product, and
//! with all of it against the product; tanks at one temperature stay tanks. Where the case gives a section no flow, its
//! water is held at its temperature in the first march, and the comparison gives it the flow that would hold its rise to
//! [`ASSUMED_RISE`].

mod data;

use serde::Serialize;

use crate::case::error::Error;
use crate::case::{Case, Circulation, Direction, Flow};
use crate::march::march;
use crate::march::solution::{FlowForRise, Solution};
use crate::maths::parallel::each;

/// Rise of the water in a section whose flow is assumed, K.
pub const ASSUMED_RISE: f64 = 5.0;

/// How the water runs through the sections.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// As the case has it; held at its temperature where no flow is given.
    AsGiven,
    /// With the product.
    Along,
    /// Against the product.
    Counter,
}

impl Way {
    /// All of them.
    pub const ALL: [Way; 3] = [Way::AsGiven, Way::Along, Way::Counter];
}

/// The answer: what the water takes at every speed.
#[derive(Clone, Debug, Serialize)]
pub struct Water {
    /// Names of the sections in water, from the die onward.
    pub sections: Vec<String>,
    /// Which of them have an assumed flow in the comparison.
    pub assumed: Vec<bool>,
    /// Whether the water of any of them runs along or against the product; tanks at one temperature have no direction.
    pub directed: bool,
    /// Where the product is told of: the last station, or the end of the line.
    pub place: String,
    /// At every speed.
    pub at_speeds: Vec<AtSpeed>,
    /// Rise that was assumed where the case gives no flow, K.
    #[serde(rename = "assumed_rise_K")]
    pub assumed_rise: f64,
    /// The solution at the first speed that has an answer; of it the JSON has what the answer must be read with.
    #[serde(flatten, serialize_with = "crate::march::told::notes_of_any")]
    pub first: Option<Solution>,
}

/// The water at one speed.
#[derive(Clone, Debug, Serialize)]
pub struct AtSpeed {
    /// Line speed, m/s.
    #[serde(rename = "line_speed_m_s")]
    pub speed: f64,
    /// As given, along, counter.
    pub ways: [Told; 3],
}

/// What one march tells, or why it has no answer.
#[derive(Clone, Debug, Serialize)]
pub struct Told {
    /// How the water runs.
    pub way: Way,
    /// What it takes; none where there is no answer.
    pub taken: Option<Taken>,
    /// Why there is none.
    pub reason: Option<String>,
}

/// What the water takes, and what it leaves in the product.
#[derive(Clone, Debug, Serialize)]
pub struct Taken {
    /// Heat that all water takes up and a chiller must remove, W.
    #[serde(rename = "chiller_duty_W")]
    pub chiller_duty: f64,
    /// Each section in water.
    pub sections: Vec<OfSection>,
    /// Surface of the product at the place, degC.
    #[serde(rename = "surface_degC")]
    pub surface: f64,
    /// Core of the product there, degC.
    #[serde(rename = "core_degC")]
    pub core: f64,
    /// Adiabatic mix of the product there, degC.
    #[serde(rename = "equalised_degC")]
    pub equalised: f64,
    /// Stated error of the temperatures, K.
    #[serde(rename = "error_K")]
    pub error: f64,
}

/// The water of one section.
#[derive(Clone, Debug, Serialize)]
pub struct OfSection {
    /// Heat given to it, W.
    #[serde(rename = "heat_W")]
    pub heat: f64,
    /// Its flow, kg/s; none where it is held at its temperature.
    #[serde(rename = "flow_kg_s")]
    pub flow: Option<f64>,
    /// Where it enters, degC.
    #[serde(rename = "water_in_degC")]
    pub inlet: f64,
    /// Where it leaves, degC; none where it is held.
    #[serde(rename = "water_out_degC")]
    pub outlet: Option<f64>,
    /// Flows that would hold its rise; none where the product gives off no heat.
    #[serde(rename = "flow_for_rise_kg_s")]
    pub for_rise: Option<FlowForRise>,
}

/// Marches the case at every speed, m/s, with its water as given, along and counter.
///
/// None where no section is in water. A speed or a way that has no answer says why and leaves the others alone.
///
/// ```
/// # let text = quenchway::file::EXAMPLE;
/// use quenchway::study::water::water;
/// let case = quenchway::file::read(text).unwrap();
/// let found = water(&case, &[2.0, 4.0]).unwrap();
/// let duty = |index: usize| found.at_speeds[index].ways[0].taken.as_ref().unwrap().chiller_duty;
/// assert!(duty(1) > 1.5 * duty(0));
/// ```
pub fn water(case: &Case, speeds: &[f64]) -> Option<Water> {
    let wet: Vec<usize> = (0..case.sections.len()).filter(|&index| case.sections[index].medium.is_water()).collect();
    if wet.is_empty() {
        return None;
    }
    let solved = each(speeds, |&speed| at_speed(case, &wet, speed));
    let (at_speeds, solutions): (Vec<AtSpeed>, Vec<Option<Solution>>) = solved.into_iter().unzip();
    Some(Water {
        sections: wet.iter().map(|&index| case.sections[index].name.clone()).collect(),
        assumed: wet.iter().map(|&index| case.sections[index].circulation.is_none()).collect(),
        directed: wet
            .iter()
            .any(|&index| case.sections[index].circulation.is_none_or(|water| water.direction != Direction::Mixed)),
        place: case.stations.last().map_or("end of the line".to_string(), |station| station.name.clone()),
        at_speeds,
        assumed_rise: ASSUMED_RISE,
        first: solutions.into_iter().flatten().next(),
    })
}

fn at_speed(case: &Case, wet: &[usize], speed: f64) -> (AtSpeed, Option<Solution>) {
    let mut case = case.clone();
    case.line_speed = speed;
    let given = march(&case);
    let along_or_counter = |&direction: &Direction| {
        let needed = wet.iter().any(|&index| case.sections[index].circulation.is_none());
        let held = if needed { Some(given.as_ref().map_err(Error::clone)?) } else { None };
        march(&directed(&case, wet, held, direction))
    };
    let solved = each(&[Direction::Along, Direction::Counter], along_or_counter);
    let told =
        [(Way::AsGiven, &given), (Way::Along, &solved[0]), (Way::Counter, &solved[1])].map(|(way, solved)| Told {
            way,
            taken: solved.as_ref().ok().map(|solution| taken(solution, wet)),
            reason: solved.as_ref().err().map(Error::to_string),
        });
    (AtSpeed { speed, ways: told }, given.ok())
}

/// The case with all water that flows through running one way; a tank stays one. What was held has the flow for its heat then.
fn directed(case: &Case, wet: &[usize], held: Option<&Solution>, direction: Direction) -> Case {
    let mut case = case.clone();
    for &index in wet {
        let section = &mut case.sections[index];
        match &mut section.circulation {
            Some(water) if water.direction == Direction::Mixed => {}
            Some(water) => water.direction = direction,
            none => {
                // One that warms the product needs none.
                let of_five = held.and_then(|held| held.sections[index].flow_for_rise).map(|flow| flow.five);
                *none = of_five.map(|flow| Circulation { flow: Flow::Mass(flow), direction });
            }
        }
    }
    case
}

fn taken(solution: &Solution, wet: &[usize]) -> Taken {
    let sections = wet.iter().map(|&index| {
        let section = &solution.sections[index];
        OfSection {
            heat: section.heat_to_water,
            flow: section.water_flow,
            inlet: section.water_in.unwrap_or(section.medium_temperature),
            outlet: section.water_out,
            for_rise: section.flow_for_rise,
        }
    });
    let station = solution.stations.last().map(|station| &station.point);
    let point = station.or(solution.sections.last().map(|section| &section.exit));
    let [surface, core, equalised] = point.map_or([f64::NAN; 3], |point| [point.surface, point.core, point.equalised]);
    Taken {
        chiller_duty: solution.chiller_duty,
        sections: sections.collect(),
        surface,
        core,
        equalised,
        error: solution.numerics.error,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::file::read;

    const HOUSE_WIRE: &str = include_str!("../../../../cases/house-wire.toml");
    const SERIES: &str = include_str!("../../../../cases/pe-core-series-water.toml");

    fn taken_of(row: &AtSpeed, way: usize) -> &Taken {
        row.ways[way].taken.as_ref().unwrap()
    }

    #[test]
    fn every_way_is_the_march_of_its_case() {
        let case = read(SERIES).unwrap();
        let found = water(&case, &[0.3, 0.5]).unwrap();
        assert_eq!(found.sections, ["warm tank", "first trough", "second trough"]);
        assert_eq!((found.assumed.as_slice(), found.place.as_str()), (&[false; 3][..], "capstan"));
        assert!(found.directed);
        let mut tanks = case.clone();
        for section in &mut tanks.sections[2..4] {
            section.circulation.as_mut().unwrap().direction = Direction::Mixed;
        }
        assert!(!water(&tanks, &[0.3]).unwrap().directed);
        for row in &found.at_speeds {
            // The case has its water against the product already.
            let (given, counter) = (taken_of(row, 0), taken_of(row, 2));
            assert_eq!((given.core, given.chiller_duty), (counter.core, counter.chiller_duty));
            let mut along = case.clone();
            along.line_speed = row.speed;
            for section in &mut along.sections[2..4] {
                section.circulation.as_mut().unwrap().direction = Direction::Along;
            }
            let solution = march(&along).unwrap();
            let told = taken_of(row, 1);
            assert_eq!((told.core, told.error), (solution.stations[1].point.core, solution.numerics.error));
            assert_eq!(told.sections[1].outlet, solution.sections[2].water_out);
            assert!(told.sections[0].outlet.is_some());
            // Cold water where the product leaves takes more out of it.
            assert!(counter.equalised < told.equalised, "{row:?}");
            let sum: f64 = told.sections.iter().map(|section| section.heat).sum();
            assert_eq!(sum, told.chiller_duty);
        }
    }

    /// The flow is that for 5 K of the heat into held water; water that warms takes a little less.
    #[test]
    fn held_water_is_compared_at_an_assumed_rise() {
        let case = read(HOUSE_WIRE).unwrap();
        let found = water(&case, &[2.5]).unwrap();
        assert_eq!(found.assumed, [true]);
        let row = &found.at_speeds[0];
        let given = &taken_of(row, 0).sections[0];
        assert_eq!((given.flow, given.outlet, given.inlet), (None, None, 16.0));
        for way in [1, 2] {
            let section = &taken_of(row, way).sections[0];
            assert_eq!(section.flow, given.for_rise.map(|flow| flow.five));
            let rise = section.outlet.unwrap() - 16.0;
            assert!((4.5..ASSUMED_RISE).contains(&rise), "{rise}");
            assert!(section.heat < given.heat);
        }
        assert!(taken_of(row, 2).equalised < taken_of(row, 1).equalised);
    }

    #[test]
    fn a_speed_without_an_answer_says_why_and_leaves_the_others() {
        let mut case = read(SERIES).unwrap();
        // A flow that boils at the higher speed only.
        case.sections[3].circulation.as_mut().unwrap().flow = Flow::Mass(0.036);
        let found = water(&case, &[0.05, 3.0, 0.06]).unwrap();
        assert!(found.at_speeds[0].ways[0].taken.is_some(), "{:?}", found.at_speeds[0]);
        let fast = &found.at_speeds[1].ways[0];
        assert!(fast.taken.is_none() && fast.reason.as_ref().is_some_and(|reason| reason.contains("flow")), "{fast:?}");
        assert_eq!(found.first.unwrap().stations[1].point.core, taken_of(&found.at_speeds[0], 0).core);
    }

    #[test]
    fn a_line_without_water_has_no_answer() {
        let mut case = read(HOUSE_WIRE).unwrap();
        case.sections.remove(1);
        case.stations.clear();
        assert!(water(&case, &[2.5]).is_none());
    }
}
