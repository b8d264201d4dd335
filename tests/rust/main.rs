//! All Rust tests of the crate, in one binary.

mod derivatives;
mod distributions;
mod guides;
mod joint;
mod published;
mod second_order;
mod special;
mod stability;
mod support;
mod unit_text;
