//! The kit list in words, as rows and as JSON.

use super::list::{Item, KitList, Status};
use crate::plan::{Row, put, row_to_json};
use serde_json::json;
use std::fmt::Write as _;

impl Item {
    /// What was found and how it does, in one line.
    pub fn finding(&self) -> String {
        let found = match (self.status, self.found.as_str()) {
            (Status::Fits, found) => found.to_owned(),
            (status, "") => status.in_words().to_owned(),
            (status, found) => format!("{}: {found}", status.in_words()),
        };
        match self.remark.as_str() {
            "" => found,
            remark => format!("{found} ({remark})"),
        }
    }
}

impl KitList {
    /// Whether the list is complete, in a sentence.
    pub fn headline(&self) -> String {
        let count = |wanted: fn(&Item) -> bool| self.items().filter(|item| wanted(item)).count();
        let missing = count(|item| item.status == Status::Missing);
        let unfit = count(|item| matches!(item.status, Status::DoesNotFit(_)));
        if self.is_complete() {
            return "nothing is missing; what has no name here is to be checked by a person"
                .to_owned();
        }
        let told = [(missing, "missing"), (unfit, "of no use here as it is")];
        let told = told.into_iter().filter(|(n, _)| *n > 0);
        let told: Vec<String> = told.map(|(n, words)| format!("{n} {words}")).collect();
        format!("not complete: {}", told.join(", "))
    }

    /// The list as text for a terminal.
    pub fn in_words(&self) -> String {
        let mut text = format!(
            "{}\nwhat to take, from {}\n{}\n",
            self.site,
            self.inventory,
            self.headline()
        );
        // writing to a String cannot fail
        for group in self.groups.iter().filter(|group| !group.items.is_empty()) {
            let _ = writeln!(text, "\n{}", group.title);
            for item in &group.items {
                let needed = match item.needed.as_str() {
                    "" => String::new(),
                    needed => format!(": {needed}"),
                };
                let _ = writeln!(text, "  [ ] {}{needed}", item.what);
                let _ = writeln!(text, "      {}", item.finding());
            }
        }
        if !self.surplus.is_empty() {
            let names: Vec<&str> = self.surplus.iter().map(|(_, name)| name.as_str()).collect();
            let _ = writeln!(text, "\nnot needed here: {}", names.join("; "));
        }
        text
    }

    /// The items as rows, each with the same columns.
    pub fn rows(&self) -> Vec<Row> {
        let rows = self.groups.iter().flat_map(|group| {
            group.items.iter().map(|item| {
                let mut row = Row::new();
                put(&mut row, "group", group.title);
                put(&mut row, "what", item.what.as_str());
                put(&mut row, "needed", item.needed.as_str());
                put(&mut row, "status", item.status.in_words());
                put(&mut row, "found", item.found.as_str());
                put(&mut row, "remark", item.remark.as_str());
                row
            })
        });
        rows.collect()
    }

    /// Everything as JSON text.
    pub fn to_json(&self) -> String {
        let rows: Vec<_> = self.rows().iter().map(row_to_json).collect();
        let surplus: Vec<_> = self
            .surplus
            .iter()
            .map(|(kind, name)| json!([kind, name]))
            .collect();
        let value = json!({
            "site": self.site,
            "site_digest": self.site_digest,
            "inventory": self.inventory,
            "complete": self.is_complete(),
            "items": rows,
            "surplus": surplus,
        });
        format!("{value:#}")
    }
}
