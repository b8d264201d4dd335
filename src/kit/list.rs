//! What to take to site, and whether it lies in the box.

use super::fit::Misfit;
use super::search::Search;
use super::{DayOnSite, Demands};
use crate::digest::sha256;
use crate::error::Result;
use crate::site::{Inventory, Site};

/// What stands behind a line of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Status {
    /// It is there and fits.
    Fits,
    /// Something of that kind is there, and does not fit.
    DoesNotFit(Misfit),
    /// Nothing of that kind is there.
    Missing,
    /// Nobody but a person can tell.
    ToBeChecked,
}

impl Status {
    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Status::Fits => "there",
            Status::DoesNotFit(misfit) => misfit.in_words(),
            Status::Missing => "missing",
            Status::ToBeChecked => "to be checked",
        }
    }
}

/// One thing to take, or to have seen to.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Item {
    /// What it is.
    pub what: String,
    /// What it must be for this site; empty where anything does.
    pub needed: String,
    /// Whether it lies in the box.
    pub status: Status,
    /// The thing that was found, by name; empty where there is none.
    pub found: String,
    /// Why it does not fit, or what to look at.
    pub remark: String,
}

/// Items that belong together.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct ItemGroup {
    /// The heading.
    pub title: &'static str,
    /// The items.
    pub items: Vec<Item>,
}

/// What to take to site and to see to before leaving.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct KitList {
    /// The name of the site.
    pub site: String,
    /// SHA-256 of the text of the site file, in hexadecimal digits.
    pub site_digest: String,
    /// Whose instruments they are, and their file.
    pub inventory: String,
    /// What the site demands.
    pub demands: Demands,
    /// The list.
    pub groups: Vec<ItemGroup>,
    /// What is there and not needed, with the word for its kind.
    pub surplus: Vec<(String, String)>,
}

impl Site {
    /// What to take to site and to see to before leaving, and which of it an inventory has: what one
    /// owns, or what was delivered.
    ///
    /// What the site uses of it by name is looked for first; else whatever fits.
    ///
    /// # Errors
    /// As [`Site::demands`].
    pub fn kit(&self, inventory: &Inventory, day: &DayOnSite) -> Result<KitList> {
        let demands = self.demands(day)?;
        let used = self.instruments.clone().unwrap_or_default();
        let mut search = Search::new(inventory, &demands, &used);
        let group = |title, items| ItemGroup { title, items };
        let groups = vec![
            group("on the pipe", search.on_the_pipe()),
            group("electronics and cables", search.electronics_and_cables()),
            group("survey and surface", search.tools()),
            group("calibration", search.certificates()),
            group("permits and cautions", demands.permits()),
        ];
        let taken = search.taken();
        let surplus = inventory
            .things()
            .filter(|(_, thing)| !taken.contains(&thing.name));
        Ok(KitList {
            site: self.name.clone(),
            site_digest: sha256(self.text().as_bytes()),
            inventory: match inventory.name.as_str() {
                "" => inventory.file_name(),
                name => format!("{name} ({})", inventory.file_name()),
            },
            surplus: surplus
                .map(|(kind, thing)| (kind.to_owned(), thing.in_words()))
                .collect(),
            groups,
            demands,
        })
    }
}

impl KitList {
    /// All items, in the order of the list.
    pub fn items(&self) -> impl Iterator<Item = &Item> {
        self.groups.iter().flat_map(|group| &group.items)
    }

    /// Whether nothing is missing and nothing that is there is of no use; what only a person can tell
    /// is left to that person.
    pub fn is_complete(&self) -> bool {
        self.items()
            .all(|item| matches!(item.status, Status::Fits | Status::ToBeChecked))
    }
}
