//! The site file to begin with.

use super::Site;
use crate::error::{Error, Result};
use crate::model::{Basis, Quantity};

/// What is worth reading first, with its comments. What the table of quantities has besides is added.
const TEMPLATE: &str = include_str!("starter.toml");

impl Site {
    /// The liquids that a site file to begin with can have, by their names in it.
    pub const STARTER_LIQUIDS: [&str; 5] = [
        "water",
        "sea water",
        "ethylene glycol",
        "propylene glycol",
        "stated",
    ];

    /// A site file to begin with for another basis or another liquid: the keys that they need are on,
    /// and those that have no effect with them are off. It is evaluated as it stands.
    ///
    /// # Errors
    /// A liquid that is none of [`Site::STARTER_LIQUIDS`].
    pub fn starter_for(basis: Basis, liquid: &str) -> Result<String> {
        if !Self::STARTER_LIQUIDS.contains(&liquid) {
            return Err(Error::unknown_name(
                "liquid",
                liquid,
                &Self::STARTER_LIQUIDS,
            ));
        }
        let (on, off): (&[&str], &[&str]) = match liquid {
            "sea water" => (&["salinity"], &[]),
            "ethylene glycol" | "propylene glycol" => (&["mass_fraction", "sound_speed"], &[]),
            "stated" => (
                &["sound_speed", "kinematic_viscosity"],
                &["absolute_pressure", "thermometer"],
            ),
            _ => (&[], &[]),
        };
        let mut text = Self::starter()
            .replace("\nkind = \"water\"\n", &format!("\nkind = \"{liquid}\"\n"))
            .replace(
                "\nbasis = \"timed\"\n",
                &format!("\nbasis = \"{}\"\n", basis.in_words()),
            );
        if basis == Basis::Indicated {
            let times = ["zero_time_difference", "electronics_delay", "wedge_delay"];
            text = switched(&text, &times, false);
            text = text.replacen("\n#[meter.programmed]\n", "\n[meter.programmed]\n", 1);
            text = switched(&text, &["zero_velocity", "inside_diameter"], true);
        }
        Ok(switched(&switched(&text, on, true), off, false))
    }

    /// A site file to begin with: every key with a comment or an example, and values that stand for
    /// those of the user.
    pub fn starter() -> String {
        let mut lines: Vec<String> = TEMPLATE.lines().map(str::to_owned).collect();
        for section in ["liquid", "pipe", "path", "meter", "profile", "installation"] {
            let lacking = lacking_lines(&lines, section);
            if let (Some(end), false) = (last_key(&lines, section), lacking.is_empty()) {
                let heading = "# rarely stated, each off until it is".to_owned();
                lines.splice(end + 1..=end, [heading].into_iter().chain(lacking));
            }
        }
        lines.join("\n") + "\n"
    }
}

/// The text with the first line of each key switched on or off.
fn switched(text: &str, keys: &[&str], on: bool) -> String {
    let mut text = text.to_owned();
    for key in keys {
        let (off_line, on_line) = (format!("\n#{key} = "), format!("\n{key} = "));
        text = if on {
            text.replacen(&off_line, &on_line, 1)
        } else {
            text.replacen(&on_line, &off_line, 1)
        };
    }
    text
}

/// Lines for the quantities of a section that the template leaves out.
fn lacking_lines(lines: &[String], section: &str) -> Vec<String> {
    let stated = Quantity::ALL.iter().filter(|q| q.is_stated());
    let own = stated.filter(|q| q.section_and_key().0 == section);
    let lacking = own.filter(|q| {
        let key = q.section_and_key().1;
        !keys_of(lines, section).any(|(_, other)| other == key)
    });
    lacking
        .map(|q| {
            let key = q.section_and_key().1;
            let example = q.row().example.map_or_else(
                || {
                    format!(
                        "\"{} {}\"",
                        q.default_value(),
                        q.dimension().si_unit().symbol
                    )
                },
                str::to_owned,
            );
            format!("#{key} = {example}")
        })
        .collect()
}

/// The keys of a section, on or off, with the places of their lines.
pub(super) fn keys_of<'a>(
    lines: &'a [String],
    section: &'a str,
) -> impl Iterator<Item = (usize, &'a str)> + 'a {
    let mut inside = false;
    lines.iter().enumerate().filter_map(move |(place, line)| {
        let line = line.strip_prefix('#').unwrap_or(line);
        if let Some(head) = line.strip_prefix('[') {
            inside = head.strip_suffix(']') == Some(section);
        }
        let (key, _) = line.split_once(" = ")?;
        let named = !key.is_empty() && !key.contains(' ');
        (inside && named).then_some((place, key))
    })
}

fn last_key(lines: &[String], section: &str) -> Option<usize> {
    keys_of(lines, section).map(|(place, _)| place).last()
}

/// The lines of prose directly above a key, on or off, without their signs of a comment.
pub(super) fn prose_above(lines: &[String], section: &str, key: &str) -> Vec<String> {
    let Some((place, _)) = keys_of(lines, section).find(|(_, own)| *own == key) else {
        return Vec::new();
    };
    let above = lines[..place].iter().rev();
    let prose = above.map_while(|line| line.strip_prefix("# "));
    let mut prose: Vec<String> = prose.map(str::to_owned).collect();
    prose.reverse();
    prose
}
