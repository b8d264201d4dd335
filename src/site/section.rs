//! A section of a site file: what it states of quantities, and keys of its own.
//!
//! Which quantities a section can state, the table of quantities says. So a section declares its own
//! keys alone, and a new row of the table needs nothing here.

use super::Stated;
use crate::model::Quantity;
use serde::de::value::StrDeserializer;
use serde::de::{DeserializeSeed, Deserializer, Error as _, IntoDeserializer, MapAccess, Visitor};
use serde::ser::SerializeMap;
use serde::{Deserialize, Serialize, Serializer, forward_to_deserialize_any};
use std::fmt;
use std::marker::PhantomData;
use std::ops::{Deref, DerefMut};
use toml::Spanned;

/// The keys of a section besides those of quantities.
pub(crate) trait SectionKeys {
    /// The name of the section.
    const SECTION: &'static str;
}

/// A section with its own keys `K`, which it gives like fields of its own.
#[derive(Debug, Clone, Default, Serialize)]
pub(crate) struct Section<K> {
    #[serde(flatten)]
    keys: K,
    #[serde(flatten)]
    stated: StatedQuantities,
}

/// What a section states of quantities, in the order of the file.
#[derive(Debug, Clone, Default)]
struct StatedQuantities(Vec<(Quantity, Spanned<Stated>)>);

impl<K> Section<K> {
    /// What the section states of quantities, in the order of the file.
    pub(super) fn stated(&self) -> impl Iterator<Item = (Quantity, &Spanned<Stated>)> {
        self.stated.0.iter().map(|(q, entry)| (*q, entry))
    }

    /// What the section states of one quantity.
    pub(super) fn entry(&self, q: Quantity) -> Option<&Spanned<Stated>> {
        let mut stated = self.stated();
        stated.find_map(|(own, entry)| (own == q).then_some(entry))
    }

    /// States a quantity, in place of what is stated of it.
    pub(super) fn restate(&mut self, q: Quantity, stated: Stated) {
        match self.stated.0.iter_mut().find(|(own, _)| *own == q) {
            Some((_, entry)) => *entry.get_mut() = stated,
            None => self.stated.0.push((q, Spanned::new(0..0, stated))),
        }
    }

    /// Leaves a quantity unsaid.
    pub(super) fn forget(&mut self, q: Quantity) {
        self.stated.0.retain(|(own, _)| *own != q);
    }
}

impl<K> Deref for Section<K> {
    type Target = K;

    fn deref(&self) -> &K {
        &self.keys
    }
}

impl<K> DerefMut for Section<K> {
    fn deref_mut(&mut self) -> &mut K {
        &mut self.keys
    }
}

impl Serialize for StatedQuantities {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (q, entry) in &self.0 {
            map.serialize_entry(q.section_and_key().1, entry)?;
        }
        map.end()
    }
}

impl<'de, K: SectionKeys + Deserialize<'de>> Deserialize<'de> for Section<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(SectionVisitor(PhantomData))
    }
}

struct SectionVisitor<K>(PhantomData<K>);

impl<'de, K: SectionKeys + Deserialize<'de>> Visitor<'de> for SectionVisitor<K> {
    type Value = Section<K>;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "section [{}]", K::SECTION)
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Section<K>, A::Error> {
        let mut stated = StatedQuantities::default();
        let keys = K::deserialize(OwnKeys {
            section: K::SECTION,
            map,
            stated: &mut stated,
        })?;
        Ok(Section { keys, stated })
    }
}

/// What is left of a section for its own keys; what it states of quantities goes aside.
struct OwnKeys<'a, A> {
    section: &'static str,
    map: A,
    stated: &'a mut StatedQuantities,
}

impl<'de, A: MapAccess<'de>> Deserializer<'de> for OwnKeys<'_, A> {
    type Error = A::Error;

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, A::Error> {
        visitor.visit_map(Parted { own: self, fields })
    }

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, A::Error> {
        self.deserialize_struct("", &[], visitor)
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 u8 u16 u32 u64 f32 f64 char str string bytes byte_buf option unit
        unit_struct newtype_struct seq tuple tuple_struct map enum identifier ignored_any
    }
}

/// The entries of a section, with the names of its own keys.
struct Parted<'a, A> {
    own: OwnKeys<'a, A>,
    fields: &'static [&'static str],
}

impl<'de, A: MapAccess<'de>> MapAccess<'de> for Parted<'_, A> {
    type Error = A::Error;

    fn next_key_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, A::Error> {
        let own = &mut self.own;
        while let Some(key) = own.map.next_key_seed(KeySeed {
            section: own.section,
            fields: self.fields,
        })? {
            match key {
                Key::Of(q) => {
                    let entry = own.map.next_value()?;
                    own.stated.0.push((q, entry));
                }
                Key::Own(name) => {
                    let name: StrDeserializer<'_, A::Error> = name.into_deserializer();
                    return seed.deserialize(name).map(Some);
                }
            }
        }
        Ok(None)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, A::Error> {
        self.own.map.next_value_seed(seed)
    }
}

enum Key {
    Of(Quantity),
    Own(&'static str),
}

/// Reads a key of a section.
struct KeySeed {
    section: &'static str,
    fields: &'static [&'static str],
}

impl<'de> DeserializeSeed<'de> for KeySeed {
    type Value = Key;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Key, D::Error> {
        let found = String::deserialize(deserializer)?;
        if let Some(own) = self.fields.iter().find(|own| **own == found) {
            return Ok(Key::Own(own));
        }
        if let Some(q) = Quantity::of_key(self.section, &found) {
            return Ok(Key::Of(q));
        }
        let of_section = Quantity::ALL.iter().filter(|q| q.is_stated());
        let of_section = of_section
            .map(|q| q.section_and_key())
            .filter(|(section, _)| *section == self.section)
            .map(|(_, key)| key);
        let allowed: Vec<String> = self
            .fields
            .iter()
            .copied()
            .chain(of_section)
            .map(|key| format!("`{key}`"))
            .collect();
        // in the words of serde, as those of other unknown keys
        let allowed = allowed.join(", ");
        Err(D::Error::custom(format_args!(
            "unknown field `{found}`, expected one of {allowed}"
        )))
    }
}
