//! All Rust tests of the crate, in one binary.

mod acoustics;
mod adaptive;
mod budget_text;
mod conformity;
mod derivatives;
mod distributions;
mod evaluation;
mod guides;
mod joint;
mod models;
mod profile;
mod propagation;
mod published;
mod readings;
mod regression;
mod seawater;
mod second_order;
mod site_doubt;
mod site_file;
mod sobol;
mod special;
mod stability;
mod support;
mod type_a;
mod unit_text;
mod water;
