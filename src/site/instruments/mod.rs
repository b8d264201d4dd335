//! Instruments that one owns: their file, and the site that uses some of them.
//!
//! A thing states what a site file would state of it, under the same rules; using it puts that into
//! the site, so that a site and its record stand on their own.

mod file;
mod inventory;
mod limits;
mod named;
mod read;
mod used;

pub(crate) use file::InstrumentsUsed;
pub use file::{Holding, Purpose};
pub use inventory::{
    Cables, CalibrationCertificate, Couplant, Electronics, Inventory, Mounting, Sensors, Thing,
    Tool,
};
pub use limits::Limits;
pub(super) use used::Existing;
pub use used::{Chosen, Selection};
