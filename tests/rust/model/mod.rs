//! The measurement model: its derivatives and symmetries, and what its terms do.

mod calibration;
mod calibration_curve;
mod derivatives_and_symmetries;
mod full_site;
mod indicated;
mod outside_layers;
mod programmed;
mod time_base;
