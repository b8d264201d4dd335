//! The site file to begin with.

use super::Site;
use crate::model::Quantity;

/// What is worth reading first, with its comments. What the table of quantities has besides is added.
const TEMPLATE: &str = include_str!("starter.toml");

impl Site {
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
fn keys_of<'a>(
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
