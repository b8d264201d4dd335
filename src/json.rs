//! How results become JSON that can be read again.

use serde::{Deserialize, Deserializer};

/// A key that must be there, if only with `null`: so the text of a record says the same as what was
/// read from it, and has the same digest.
pub(crate) fn nullable<'de, D, T>(deserializer: D) -> Result<Option<T>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    Option::deserialize(deserializer)
}
