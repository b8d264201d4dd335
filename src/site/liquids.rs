//! The liquid that a site file describes.

use super::builder::Builder;
use super::file::{LiquidSection, TableSection};
use crate::error::{Error, Result};
use crate::liquid::Liquid;
use crate::liquid::tabulated::{Column, ColumnUncertainty, TabulatedLiquid, ViscosityColumn};
use crate::model::{LiquidModel, Quantity};
use crate::units::{Dimension, quantity, written_difference};
use std::sync::Arc;

impl Builder<'_> {
    /// The liquid model, and the vapour pressure where the file states it, in Pa.
    pub(super) fn liquid(&self) -> Result<(LiquidModel, Option<f64>)> {
        let section = self.sections.liquid.get_ref();
        let kind = &section.kind;
        let model = match (kind.get_ref().as_str(), &section.table) {
            ("tabulated", Some(table)) => {
                let read = read_table(table.get_ref()).map_err(|e| self.at(e, table))?;
                LiquidModel::Computed(Liquid::Tabulated(Arc::new(read)))
            }
            ("tabulated", None) => {
                let missing = Error::Missing {
                    field: "liquid.table".to_owned(),
                    needed: "the table of the liquid, for kind = \"tabulated\"".to_owned(),
                };
                return Err(self.at(missing, kind));
            }
            (_, Some(table)) => {
                let conflict = Error::Conflict {
                    field: "liquid.table".to_owned(),
                    found: format!("a table for kind = \"{}\"", kind.get_ref()),
                    allowed: "a table with kind = \"tabulated\" only".to_owned(),
                };
                return Err(self.at(conflict, table));
            }
            ("stated", None) => LiquidModel::Stated,
            (name, None) => {
                let allowed = [&Liquid::NAMES[..], &["tabulated", "stated"]].concat();
                let unknown = || self.at(Error::unknown_name("liquid.kind", name, &allowed), kind);
                LiquidModel::Computed(Liquid::named(name).ok_or_else(unknown)?)
            }
        };
        let vapour_pressure = self.vapour_pressure(section, &model)?;
        Ok((model, vapour_pressure))
    }

    fn vapour_pressure(&self, section: &LiquidSection, model: &LiquidModel) -> Result<Option<f64>> {
        let Some(text) = &section.vapour_pressure else {
            return Ok(None);
        };
        let field = "liquid.vapour_pressure";
        if let LiquidModel::Computed(liquid) = model
            && liquid.vapour_pressure(300.0).is_some()
        {
            let conflict = Error::Conflict {
                field: field.to_owned(),
                found: "a stated vapour pressure where it is computed".to_owned(),
                allowed: "for tabulated and stated liquids only".to_owned(),
            };
            return Err(self.at(conflict, text));
        }
        if section.entry(Quantity::Pressure).is_none() {
            return Err(self.without_effect(field, "liquid.absolute_pressure", text));
        }
        let read = quantity(text.get_ref(), Dimension::Pressure, field).and_then(|read| {
            let shown = read.unit.from_si(read.si);
            Error::range(
                read.si >= 0.0,
                field,
                shown,
                &read.unit.symbol,
                "0 or above",
            )?;
            Ok(read.si)
        });
        read.map(Some).map_err(|e| self.at(e, text))
    }
}

fn read_table(table: &TableSection) -> Result<TabulatedLiquid> {
    let numbers = |key: &str, texts: &[String], dimension: Dimension| -> Result<Vec<f64>> {
        let one = |(i, text): (usize, &String)| {
            let field = format!("liquid.table.{key}, row {}", i + 1);
            Ok(quantity(text, dimension, &field)?.si)
        };
        texts.iter().enumerate().map(one).collect()
    };
    let column =
        |key: &str, texts: &[String], uncertainty: &str, dimension: Dimension| -> Result<Column> {
            Ok(Column {
                values: numbers(key, texts, dimension)?,
                uncertainty: read_uncertainty(
                    uncertainty,
                    dimension,
                    &format!("liquid.table.{key}_uncertainty"),
                )?,
            })
        };
    let kinds = (&table.dynamic_viscosity, &table.kinematic_viscosity);
    let uncertainty = &table.viscosity_uncertainty;
    let viscosity = match kinds {
        (Some(texts), None) => {
            let dimension = Dimension::DynamicViscosity;
            let key = "dynamic_viscosity";
            ViscosityColumn::Dynamic(column(key, texts, uncertainty, dimension)?)
        }
        (None, Some(texts)) => {
            let dimension = Dimension::KinematicViscosity;
            let key = "kinematic_viscosity";
            ViscosityColumn::Kinematic(column(key, texts, uncertainty, dimension)?)
        }
        (found, _) => {
            let found = if found.is_some() { "both" } else { "no" };
            return Err(Error::Conflict {
                field: "liquid.table".to_owned(),
                found: format!("{found} dynamic_viscosity and kinematic_viscosity"),
                allowed: "one of the two".to_owned(),
            });
        }
    };
    let (speeds, speed_uncertainty) = (&table.sound_speed, &table.sound_speed_uncertainty);
    let (densities, density_uncertainty) = (&table.density, &table.density_uncertainty);
    TabulatedLiquid::new(
        &numbers("temperature", &table.temperature, Dimension::Temperature)?,
        &column(
            "sound_speed",
            speeds,
            speed_uncertainty,
            Dimension::Velocity,
        )?,
        &column(
            "density",
            densities,
            density_uncertainty,
            Dimension::Density,
        )?,
        &viscosity,
    )
}

/// A standard uncertainty as text: a percentage is a share of each value.
fn read_uncertainty(text: &str, dimension: Dimension, field: &str) -> Result<ColumnUncertainty> {
    let read = written_difference(text, 1.0, dimension, field)?;
    let relative = matches!(read.unit.symbol.as_ref(), "%" | "ppm");
    Ok(if relative {
        ColumnUncertainty::Relative(read.si)
    } else {
        ColumnUncertainty::Absolute(read.si)
    })
}
