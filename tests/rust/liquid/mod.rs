//! Properties of liquids against their sources.

mod glycol;
mod seawater;
mod tabulated;
mod water;
