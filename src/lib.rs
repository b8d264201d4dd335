//! **flowdoubt**: how much water flows through a pipe that nobody can open, and how far to trust
//! that number.
//!
//! A clamp-on transit-time meter is strapped on a pipe; the crate turns what is known of pipe,
//! liquid, sound path and velocity profile, and the readings of the meter, into a volume flow
//! with an uncertainty budget after the GUM (JCGM 100) and confirms it by Monte Carlo (JCGM 101).
//!
//! # Map
//!
//! Dependencies point downwards only.
//!
//! | module | what it is |
//! |---|---|
//! | [`record`] | the record of a result: written whole, digested, recomputed; the worksheet |
//! | [`input_words`] | what the inputs of a budget are, in words beside their paths |
//! | [`commission`] | on site: the steps of commissioning, what each should show, and what was found |
//! | [`kit`] | instruments that one owns against what a site needs: what fits, what to take, what was delivered |
//! | [`plan`] | before going to site: expected uncertainty over flows, alternatives, the way to a target |
//! | [`verify`] | the meter against a reference: error, meter factor, scores, conformity |
//! | [`difference`] | two flows, of two periods or two meters: their difference with what they have in common |
//! | [`mark_out`] | where the sensors go on the pipe, and what it costs to miss the place |
//! | [`evaluate`] | readings to flow, with budget, Monte Carlo, warnings, checks on site, reconciliation; logs to totals; many sites |
//! | [`site`] | a site and its file: sections, stated values, alternatives |
//! | [`table`] | tables of readings as they come: text and workbooks to columns with units, and how they were read |
//! | [`model`] | the measurement model of one path: quantities, bore, layers, equations, checks |
//! | [`profile`] | friction, profile laws, profile factor |
//! | [`acoustics`] | refraction, sound path, velocity from times |
//! | [`pipe`] | the cross-section from outside measurements, its expansion; tables of pipes and materials |
//! | [`liquid`] | water, sea water, glycol solutions, liquids from a table |
//! | [`montecarlo`] | propagation of distributions, adaptive runs, sensitivity indices, for any model |
//! | [`uncertainty`] | inputs, distributions, correlation, budget, coverage, type A, calibration lines, conformity, for any model |
//! | [`scalar`] | the number type of every model: `f64` and duals |
//! | [`units`] | text with units at the edge |
//! | [`message`] | sentences that can be said in another language |
//! | [`text`] | text from outside, made fit to be shown |
//! | [`error`] | what can go wrong |
//!
//! # Example
#![cfg_attr(feature = "site", doc = "```")]
#![cfg_attr(not(feature = "site"), doc = "```ignore")]
//! use flowdoubt::{evaluate::Readings, montecarlo::MonteCarlo, site::Site};
//!
//! let site = Site::load("notebooks/demo/site.toml")?;
//! let readings = Readings::from_csv("notebooks/demo/readings.csv")?;
//! let evaluation = site.evaluate(&readings)?;
//! println!("{}", evaluation.budget);
//! let u = evaluation.standard_uncertainty() / evaluation.estimate();
//! assert!(u > 0.005 && u < 0.02);
//! let run = MonteCarlo { trials: 10_000, ..MonteCarlo::default() };
//! let trials = evaluation.monte_carlo(run)?;
//! assert!((trials.mean / evaluation.estimate() - 1.0).abs() < 1e-3);
//! # Ok::<(), flowdoubt::Error>(())
//! ```
//!
//! # Features
//!
//! | feature | what it brings |
//! |---|---|
//! | `site` (default) | sites and what is done with them: [`site`], [`model`], [`evaluate`], [`plan`], [`commission`], [`mark_out`], [`verify`], [`difference`], [`record`]; `pipe::Material`, the table of materials; inputs as text |
//! | `workbook` | readings in workbooks (`.xlsx`) beside text |
//! | `python` | the bindings, with `workbook`; built by maturin only |
//!
//! Without `site` the crate is the engine for any measurement model ([`scalar`], [`uncertainty`],
//! [`montecarlo`], [`units`]) with the plain physics ([`liquid`], [`pipe`], [`acoustics`], [`profile`]), and
//! compiles no TOML, CSV, JSON or time zones:
//! ```toml
//! [dependencies]
//! flowdoubt = { version = "0.1", default-features = false }
//! ```
//!
//! A tool of one's own with the crate inside, its model around that of a site, is the example
//! `cooling_power`: `notebooks/embed/main.rs`, which `cargo run --example cooling_power` runs.
//!
//! # Debug builds
//!
//! Without optimisation the numerics take some seventy times as long. A tool that embeds the crate
//! keeps it fast in its own debug builds by two lines of its `Cargo.toml`:
//! ```toml
//! [profile.dev.package.flowdoubt]
//! opt-level = 3
//! ```
//!
//! # Cautions
//!
//! A result is no evidence for custody transfer or for a safety function without review by
//! licensed practice. Hot or pressurised pipes, hazardous areas, work at height and mains supply
//! follow local codes and the permit of the site.

#![forbid(unsafe_code)]
#![deny(missing_docs, unnameable_types)]
#![cfg_attr(
    not(feature = "site"),
    allow(
        dead_code,
        unused_imports,
        reason = "some of what the engine has within the crate is for the rooms above it"
    )
)]

pub mod acoustics;
mod bounds;
#[cfg(feature = "site")]
pub mod commission;
mod derivation;
#[cfg(feature = "site")]
pub mod difference;
#[cfg(feature = "site")]
mod digest;
pub mod error;
#[cfg(feature = "site")]
pub mod evaluate;
#[cfg(feature = "site")]
mod files;
#[cfg(feature = "site")]
pub mod input_words;
#[cfg(feature = "site")]
mod json;
#[cfg(feature = "site")]
pub mod kit;
#[cfg(feature = "site")]
mod line_numbers;
pub mod liquid;
#[cfg(feature = "site")]
pub mod mark_out;
pub mod message;
#[cfg(feature = "site")]
pub mod model;
pub mod montecarlo;
mod parallel;
pub mod pipe;
#[cfg(feature = "site")]
pub mod plan;
pub mod profile;
#[cfg(feature = "python")]
mod python;
#[cfg(feature = "site")]
pub mod record;
#[cfg(feature = "site")]
mod saving;
pub mod scalar;
#[cfg(feature = "site")]
pub mod site;
#[cfg(feature = "site")]
pub mod table;
pub mod text;
pub mod uncertainty;
pub mod units;
#[cfg(feature = "site")]
pub mod verify;
mod watch;

pub use error::{Error, Result};

/// The page that registries show, whose example runs with those of the documentation.
#[cfg(doctest)]
#[doc = include_str!("../notebooks/embed/registry.md")]
struct RegistryPage;
