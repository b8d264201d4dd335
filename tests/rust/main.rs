//! All Rust tests of the crate, in one binary: a folder for each module of `src`.

#![allow(clippy::disallowed_types, reason = "no test forks")]

mod acoustics;
mod bits;
mod commission;
mod difference;
mod error;
mod evaluate;
mod hostile_text;
mod kit;
mod liquid;
mod mark_out;
mod message;
mod model;
mod montecarlo;
mod pipe;
mod plan;
mod profile;
#[path = "../published/mod.rs"]
mod published;
mod record;
mod scalar;
mod site;
mod support;
mod table;
mod uncertainty;
mod units;
mod verify;
