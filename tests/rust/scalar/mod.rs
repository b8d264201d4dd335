//! Numbers: elementary and special functions, derivatives.

mod derivatives;
mod elementary;
mod elementary_functions;
mod monotone_cubic;
mod operators;
mod special;
