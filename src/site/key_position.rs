//! Where in a site file the key stands that an error of the model names.

use super::Site;
use crate::error::Error;

/// Where to look in a site file for what an error of the model names.
const STATED_AS: [(&str, &str); 4] = [
    ("wedge to wall", "path.wedge_angle"),
    ("wedge to liquid", "path.wedge_angle"),
    ("wall to liquid", "path.wedge_angle"),
    ("pipe.inside_diameter", "pipe.wall"),
];

impl Site {
    /// An error of the model with the line of the key that it names, where it names one.
    pub(crate) fn at_its_key(&self, error: Error) -> Error {
        if matches!(error, Error::InFile { .. }) {
            return error;
        }
        let field = error.context().field.unwrap_or_default();
        let stated = STATED_AS.iter().find(|(name, _)| *name == field);
        let path = stated.map_or(field.as_str(), |(_, path)| *path);
        match self.line_of_key(path) {
            Some(line) => error.in_file(&self.file, line),
            None => error,
        }
    }

    /// The line of a key such as `pipe.wall`, counted from 1.
    fn line_of_key(&self, path: &str) -> Option<usize> {
        let (section, key) = path.split_once('.')?;
        let key = key.split('.').next()?;
        let mut inside = false;
        for (place, line) in self.text.lines().enumerate() {
            let line = line.trim();
            if let Some(head) = line.strip_prefix('[') {
                inside = head.split(']').next() == Some(section);
            } else if inside
                && let Some((own, _)) = line.split_once('=')
                && own.trim() == key
            {
                return Some(place + 1);
            }
        }
        None
    }
}
