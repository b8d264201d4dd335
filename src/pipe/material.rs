//! Materials of pipes and liners: sound speeds, density, expansion, elasticity and roughness, each
//! as a range with its source.
//!
//! A range is what is known of a pipe before anything was measured on it. Sound speed in cast iron
//! or mortar spreads so widely that only a measurement helps.

use super::elasticity::youngs_modulus;
use super::figure::{Figure, Range, Status};
use crate::error::{Error, Result, nearest};
use once_cell::race::OnceBox;
use serde::Deserialize;
use std::collections::BTreeMap;

/// A material, at about 20 degC, in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Material {
    /// Name.
    pub name: String,
    /// Other names of the same.
    pub aliases: Vec<String>,
    /// Speed of longitudinal waves in m/s.
    pub longitudinal_speed: Figure,
    /// Speed of shear waves in m/s; `None` where they die out or nothing is known.
    pub shear_speed: Option<Figure>,
    /// Density in kg/m3.
    pub density: Figure,
    /// Coefficient of linear thermal expansion in 1/K.
    pub expansion: Option<Figure>,
    /// Change of the speed of longitudinal waves in m/s per K.
    pub longitudinal_speed_per_kelvin: Option<Figure>,
    /// Change of the speed of shear waves in m/s per K.
    pub shear_speed_per_kelvin: Option<Figure>,
    /// Poisson's ratio.
    pub poisson_ratio: Figure,
    /// Young's modulus in Pa under load, where it is stated apart from the sound speeds.
    pub static_modulus: Option<Figure>,
    /// Equivalent sand roughness in m of a new pipe.
    pub roughness: Figure,
}

/// A number of the file: estimate, half-width, key of the source, status.
#[derive(Deserialize)]
struct Entry(f64, f64, String, Status);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MaterialEntry {
    name: String,
    aliases: Vec<String>,
    longitudinal_speed: Entry,
    shear_speed: Option<Entry>,
    density: Entry,
    expansion: Option<Entry>,
    longitudinal_speed_per_kelvin: Option<Entry>,
    shear_speed_per_kelvin: Option<Entry>,
    poisson_ratio: Entry,
    static_modulus: Option<Entry>,
    roughness: Entry,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    sources: BTreeMap<String, String>,
    material: Vec<MaterialEntry>,
}

fn read(text: &str) -> Result<Vec<Material>> {
    let broken = |reason: String| Error::Syntax {
        format: "table of materials",
        reason,
    };
    let file: File = toml::from_str(text).map_err(|e| broken(e.to_string()))?;
    let figure = |Entry(estimate, half_width, key, status): Entry| {
        let source = file.sources.get(&key);
        let source = source.ok_or_else(|| broken(format!("no source `{key}`")))?;
        Ok(Figure {
            range: Range {
                estimate,
                half_width,
            },
            source: source.clone(),
            status,
        })
    };
    let optional = |entry: Option<Entry>| entry.map(figure).transpose();
    let materials = file.material.into_iter().map(|m| {
        Ok(Material {
            name: m.name,
            aliases: m.aliases,
            longitudinal_speed: figure(m.longitudinal_speed)?,
            shear_speed: optional(m.shear_speed)?,
            density: figure(m.density)?,
            expansion: optional(m.expansion)?,
            longitudinal_speed_per_kelvin: optional(m.longitudinal_speed_per_kelvin)?,
            shear_speed_per_kelvin: optional(m.shear_speed_per_kelvin)?,
            poisson_ratio: figure(m.poisson_ratio)?,
            static_modulus: optional(m.static_modulus)?,
            roughness: figure(m.roughness)?,
        })
    });
    materials.collect()
}

impl Material {
    /// All materials.
    ///
    /// # Errors
    /// The table, which is part of the crate, cannot be read.
    pub fn all() -> Result<&'static [Material]> {
        static ALL: OnceBox<Result<Vec<Material>>> = OnceBox::new();
        let all = ALL.get_or_init(|| Box::new(read(include_str!("data/materials.toml"))));
        all.as_deref().map_err(Error::clone)
    }

    /// The material of a name; letter case does not matter.
    ///
    /// # Errors
    /// There is no such material; the error lists all and suggests the nearest in spelling.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::pipe::Material;
    /// let steel = Material::named("steel")?;
    /// assert_eq!(steel.name, "carbon steel");
    /// let shear = steel.shear_speed.as_ref().expect("steel carries shear waves");
    /// assert_eq!((shear.range.estimate, shear.range.half_width), (3230.0, 35.0));
    /// let error = Material::named("stel").unwrap_err().to_string();
    /// assert!(error.contains("did you mean `steel`?"));
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn named(name: &str) -> Result<&'static Material> {
        let all = Material::all()?;
        let wanted = name.trim().to_lowercase();
        let found = all
            .iter()
            .find(|m| m.names().any(|n| n.to_lowercase() == wanted));
        found.ok_or_else(|| {
            let names: Vec<(String, &str)> = all
                .iter()
                .flat_map(Material::names)
                .map(|n| (n.to_lowercase(), n))
                .collect();
            let near = nearest(&wanted, names.iter().map(|(lower, _)| lower.as_str()));
            let as_written = names.iter().find(|(lower, _)| Some(lower) == near.as_ref());
            Error::UnknownName {
                field: "pipe.material".to_owned(),
                found: name.to_owned(),
                nearest: as_written.map(|(_, n)| (*n).to_owned()),
                allowed: all.iter().map(|m| m.name.clone()).collect(),
            }
        })
    }

    /// The name and its aliases.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.name)
            .chain(&self.aliases)
            .map(String::as_str)
    }

    /// Young's modulus in Pa for the expansion of a pipe under pressure: as stated, else from the
    /// sound speeds and the density. `None` where there is neither.
    ///
    /// Both speeds and the density are taken at their lower limits together and at their upper
    /// limits together: in cast iron and mortar, what slows one wave slows the other.
    pub fn youngs_modulus(&self) -> Option<Figure> {
        self.static_modulus
            .clone()
            .or_else(|| self.dynamic_modulus())
    }

    /// Young's modulus in Pa from the sound speeds and the density, so that of small and fast
    /// strain. Of plastics it is larger than what holds a pipe under lasting pressure.
    pub fn dynamic_modulus(&self) -> Option<Figure> {
        let shear = self.shear_speed.as_ref()?;
        let limit = |of: fn(&Range) -> f64| {
            let (longitudinal, shear) = (of(&self.longitudinal_speed.range), of(&shear.range));
            youngs_modulus(longitudinal, shear, of(&self.density.range))
        };
        let known = [&self.longitudinal_speed, shear, &self.density];
        let from_memory = known.iter().any(|f| f.status == Status::Memory);
        Some(Figure {
            range: Range::between(limit(Range::lower), limit(Range::upper)),
            source: format!(
                "from sound speeds ({}; {}) and density ({})",
                self.longitudinal_speed.source, shear.source, self.density.source
            ),
            status: if from_memory {
                Status::Memory
            } else {
                Status::Judged
            },
        })
    }
}
