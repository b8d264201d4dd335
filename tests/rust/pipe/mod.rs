//! Dimensions, materials, expansion and ovality of pipes.

mod dimensions;
mod expansion;
mod materials;
mod ovality;
