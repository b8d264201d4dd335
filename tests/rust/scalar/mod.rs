//! Numbers: elementary and special functions, derivatives, recordings, fits.

mod derivatives;
mod elementary;
mod elementary_functions;
mod fitted;
mod recorded;
mod special;
