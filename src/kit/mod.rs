//! What lies in the box and what the site needs: which instruments fit a pipe, what to take to site,
//! and whether what was delivered is that.

mod demands;
mod fit;
mod kit_text;
mod list;
mod owned;
mod search;

pub use demands::{DayOnSite, Demands};
pub use fit::{Misfit, Reason};
pub use list::{Item, ItemGroup, KitList, Status};
pub use owned::{NOTHING_FITS, NotFitting, OwnedPlan, OwnedRequest};
