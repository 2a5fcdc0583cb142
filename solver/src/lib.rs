//! Quenchway: how long must the cooling trough be, how fast may the line run?
//!
//! An extruded wire, cable, pipe or tape leaves the die hot and is cooled in air and water. This library computes its
//! temperatures along the line, with a stated numerical error, and answers the questions that hang on them. Everything is in
//! SI, temperatures in degC; numbers with units exist in case files and answers to people only.
//!
//! # From a case file
//!
//! [`read`] makes a [`CaseFile`] of a text, or tells every [`Problem`] of it with its place; [`march`](march()) makes a [`Solution`]
//! of a [`Case`]. A case file is a case wherever one is asked for.
//!
//! ```
//! use quenchway::{Celsius, march, read};
//!
//! let file = read(quenchway::file::EXAMPLE).map_err(|problems| problems[0].message.clone())?;
//! let solution = march(&file)?;
//! let capstan = &solution.stations[solution.stations.len() - 1];
//! assert_eq!(capstan.name, "capstan");
//! // The core comes out warmer than its limit: the line is too fast for its trough.
//! let core = capstan.limits.iter().find(|limit| limit.limit == 60.0).ok_or("no such limit")?;
//! assert!(!core.met && core.value > 60.0);
//! // How sure the engine is of its arithmetic, K: not more than was asked for.
//! assert!(solution.numerics.error <= file.tolerance);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Questions
//!
//! Each has its module in [`study`]: [`study::length`] and [`study::speed`] search, [`study::spread`], [`study::rank`] and
//! [`study::band`] ask what uncertain inputs do, [`study::map`] and [`study::sweep`] solve many cases, [`study::fit`] turns a
//! trial into numbers of the case, [`study::gauges`] and [`study::water`] answer the gauge's and the chiller's questions. Those of many
//! marches are the feature `studies`, which is on unless you turn it off.
//!
//! ```
//! use quenchway::study::length::needed;
//!
//! let file = quenchway::read(quenchway::file::EXAMPLE).map_err(|problems| problems[0].message.clone())?;
//! let answer = needed(&file)?;
//! // The trough of 18 m is too short.
//! assert!(answer.length > 18.0 && answer.length < 30.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # A case without a file
//!
//! [`Case::new`], [`Layer::new`], [`Section::new`] and [`Station::behind`] take what every case has to say; all fields are
//! public. [`Case::new`] shows one. Many cases at once go through [`march::batch`], eight abreast in the registers of a
//! processor, to the same bits as one by one.
//!
//! # Rooms
//!
//! Lowest first; each imports those before it and nothing else (`tests/rooms.rs`): [`maths`], [`units`], [`data`],
//! [`material`], [`film`], [`case`](mod@case), [`exact`], `slice`, `engine`, `line`, [`march`](mod@march), [`names`],
//! [`file`](mod@file), [`study`].
// The same bits on every machine; tests may take the machine's own functions, and so may what the engine is compared with.
#![cfg_attr(not(test), deny(clippy::disallowed_methods))]
// Every public result says its errors.
#![warn(clippy::missing_errors_doc)]
// Without the studies some of what they share waits for them.
#![cfg_attr(not(feature = "studies"), allow(dead_code, unused_imports))]

pub mod case;
pub mod data;
#[doc(hidden)]
pub mod engine;
#[allow(clippy::disallowed_methods)]
pub mod exact;
pub mod file;
pub mod film;
#[doc(hidden)]
pub mod line;
pub mod march;
pub mod material;
pub mod maths;
pub mod names;
#[doc(hidden)]
pub mod slice;
pub mod study;
pub mod units;

pub use case::{Case, CaseFile, Contact, Layer, Limit, Medium, Quantity, Section, Size, Station};
pub use file::{Problem, read};
pub use march::march;
pub use march::solution::Solution;
pub use material::Material;
pub use units::Celsius;
