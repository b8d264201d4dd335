//! All Rust tests of the crate, in one binary.

mod acoustics;
mod derivatives;
mod distributions;
mod evaluation;
mod guides;
mod joint;
mod models;
mod profile;
mod published;
mod readings;
mod second_order;
mod site_doubt;
mod site_file;
mod special;
mod stability;
mod support;
mod unit_text;
mod water;
