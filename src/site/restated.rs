//! A site file in which what was found on site replaces what was stated.

use super::builder::Builder;
use super::{Site, SiteFile, Stated};
use crate::error::{Error, Result};
use crate::line_numbers::Lines;
use crate::model::Quantity;
use crate::text::shown;
use serde::Serialize;
use std::path::Path;

/// A statement of a site file in place of another one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[non_exhaustive]
pub struct Restated {
    /// The path in the site file.
    pub path: String,
    /// What the file stated, as TOML; none where it stated nothing.
    pub before: Option<String>,
    /// What it states now, as TOML.
    pub after: String,
}

impl Restated {
    /// The lines for the site file: section, then key and value.
    pub fn toml(&self) -> String {
        let (section, key) = self.path.split_once('.').unwrap_or(("", &self.path));
        format!("[{section}]\n{key} = {}\n", self.after)
    }
}

impl Site {
    /// What the site file states of a quantity.
    pub(crate) fn stated_as(&self, q: Quantity) -> Result<Option<Stated>> {
        let sections = SiteFile::parse(&self.text, &self.file)?;
        Ok(sections.entry(q).map(|entry| entry.get_ref().clone()))
    }

    /// The site with other statements of quantities, and a remark of whole lines at the end of its
    /// file. Comments stay wherever a value can be replaced where it stands.
    ///
    /// # Errors
    /// A site file that such a statement leaves contradictory.
    pub(crate) fn restated(
        &self,
        statements: &[(Quantity, Stated)],
        remark: &str,
    ) -> Result<(Site, Vec<Restated>)> {
        let mut sections = SiteFile::parse(&self.text, &self.file)?;
        let mut text = self.text.to_string();
        let mut changes = Vec::new();
        for (q, stated) in statements {
            let after = as_value(stated)?.to_string();
            let before = match sections.entry(*q) {
                Some(entry) => Some(as_value(entry.get_ref())?.to_string()),
                None => None,
            };
            text = replaced(&text, &self.file, *q, &after)?;
            sections.restate(*q, stated.clone());
            changes.push(Restated {
                path: q.path().into_owned(),
                before,
                after,
            });
        }
        // what stands elsewhere than the text was searched, as in a table of its own
        let meant = as_value(&sections)?;
        let written = SiteFile::parse(&text, &self.file).and_then(|found| as_value(&found));
        if written.as_ref() != Ok(&meant) {
            text = toml::to_string(&sections).map_err(|e| not_written(&e))?;
        }
        if !text.ends_with('\n') {
            text.push('\n');
        }
        for line in remark.lines() {
            text += &format!("# {}\n", shown(line));
        }
        let sections = SiteFile::parse(&text, &self.file)?;
        let site = Builder {
            text: &text,
            lines: Lines::of(&text),
            file: &self.file,
            sections: &sections,
        }
        .build()?;
        Ok((site, changes))
    }
}

impl SiteFile {
    fn restate(&mut self, q: Quantity, stated: Stated) {
        match q.section_and_key().0 {
            "liquid" => self.liquid.get_mut().restate(q, stated),
            "pipe" => self.pipe.get_mut().restate(q, stated),
            "path" => self.path.get_mut().restate(q, stated),
            "profile" => self.profile.restate(q, stated),
            "installation" => self.installation.restate(q, stated),
            _ => self.meter.restate(q, stated),
        }
    }
}

/// The text with another value of a quantity, or with a line for it.
fn replaced(text: &str, file: &Path, q: Quantity, value: &str) -> Result<String> {
    let (section, key) = q.section_and_key();
    let sections = SiteFile::parse(text, file)?;
    if let Some(entry) = sections.entry(q) {
        let span = entry.span();
        let (Some(before), Some(after)) = (text.get(..span.start), text.get(span.end..)) else {
            return Ok(text.to_owned());
        };
        return Ok(format!("{before}{value}{after}"));
    }
    let heading = format!("[{section}]");
    let mut found = String::with_capacity(text.len() + value.len() + 64);
    let mut placed = false;
    for line in text.split_inclusive('\n') {
        found += line;
        if !placed && line.trim_end() == heading && line.ends_with('\n') {
            found += &format!("{key} = {value}\n");
            placed = true;
        }
    }
    if !placed {
        found += &format!("\n{heading}\n{key} = {value}\n");
    }
    Ok(found)
}

fn as_value(of: &impl Serialize) -> Result<toml::Value> {
    toml::Value::try_from(of).map_err(|e| not_written(&e))
}

fn not_written(error: &toml::ser::Error) -> Error {
    Error::Syntax {
        format: "site file",
        reason: error.to_string(),
    }
}
