//! How a table is to be read, where that is not left to recognition.

use super::Channel;
use super::column_name::{ColumnName, read_name};
use crate::error::{Error, Result, nearest};
use crate::units::{Dimension, Unit};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What parts the columns of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Delimiter {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// The tabulator.
    Tab,
    /// `|`
    Bar,
}

impl Delimiter {
    /// All delimiters, in the order in which they are tried.
    pub const ALL: [Delimiter; 4] = [
        Delimiter::Comma,
        Delimiter::Semicolon,
        Delimiter::Tab,
        Delimiter::Bar,
    ];

    /// The delimiter of that name, or the sign itself.
    ///
    /// # Errors
    /// Any other text; the error names `field`.
    pub fn from_text(text: &str, field: &str) -> Result<Delimiter> {
        let own = |d: &Delimiter| d.name() == text || text.as_bytes() == [d.sign()];
        let found = Delimiter::ALL.into_iter().find(own);
        found.ok_or_else(|| Error::UnknownName {
            field: field.to_owned(),
            found: text.to_owned(),
            nearest: nearest(text, Delimiter::ALL.map(Delimiter::name)),
            allowed: [",", ";", "tab", "|"].map(str::to_owned).to_vec(),
        })
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Delimiter::Comma => "comma",
            Delimiter::Semicolon => "semicolon",
            Delimiter::Tab => "tab",
            Delimiter::Bar => "bar",
        }
    }

    /// Its name where there are many.
    pub(super) fn plural(self) -> &'static str {
        match self {
            Delimiter::Comma => "commas",
            Delimiter::Semicolon => "semicolons",
            Delimiter::Tab => "tabs",
            Delimiter::Bar => "bars",
        }
    }

    pub(super) fn sign(self) -> u8 {
        match self {
            Delimiter::Comma => b',',
            Delimiter::Semicolon => b';',
            Delimiter::Tab => b'\t',
            Delimiter::Bar => b'|',
        }
    }
}

/// What stands before the decimals of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum DecimalSign {
    /// `.`
    Point,
    /// `,`
    Comma,
}

impl DecimalSign {
    /// The sign of that name, or the sign itself.
    ///
    /// # Errors
    /// Any other text; the error names `field`.
    pub fn from_text(text: &str, field: &str) -> Result<DecimalSign> {
        match text {
            "." | "point" => Ok(DecimalSign::Point),
            "," | "comma" => Ok(DecimalSign::Comma),
            _ => Err(Error::unknown_name(field, text, &[".", ","])),
        }
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            DecimalSign::Point => "point",
            DecimalSign::Comma => "comma",
        }
    }
}

/// The column of a table that has a quantity, by the name that the table gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedColumn {
    /// The quantity as a column of ours is named, with its unit or without.
    pub(super) quantity: String,
    /// The name in the table; of times it may be two, date and time of day.
    pub(super) names: Vec<String>,
    pub(super) unit: Option<String>,
}

/// What a map names.
pub(super) enum Meaning {
    Whole(ColumnName),
    /// The unit is to be found in the table.
    WithoutUnit(Channel),
}

impl NamedColumn {
    /// A quantity, such as `transit_time_us` or `transit_time`, with the name of its column. `unit`
    /// is that of the column, where neither `quantity` has it nor the table says it. A point in time
    /// may have two columns, date and time of day; `remark` may have any number: what is one is left
    /// out.
    ///
    /// # Errors
    /// An unknown quantity or unit, a unit twice, no name or too many; the error names `field`.
    pub fn new(
        quantity: &str,
        names: Vec<String>,
        unit: Option<String>,
        field: &str,
    ) -> Result<NamedColumn> {
        let own = format!("{field}.{quantity}");
        let column = NamedColumn {
            quantity: quantity.to_owned(),
            names: names.iter().map(|name| name.trim().to_owned()).collect(),
            unit,
        };
        let conflict = |found: String, allowed: &str| {
            Err(Error::Conflict {
                field: own.clone(),
                found,
                allowed: allowed.to_owned(),
            })
        };
        let meaning = column.meaning(field)?;
        let most = match meaning {
            Meaning::Whole(ColumnName::Remark) => usize::MAX,
            Meaning::Whole(ColumnName::Time) => 2,
            _ => 1,
        };
        if column.names.is_empty() || column.names.len() > most {
            let found = format!("{} names of columns", column.names.len());
            return conflict(
                found,
                "one name; of `time` two, date and time of day; of `remark` any number",
            );
        }
        if column.names.iter().any(String::is_empty) {
            return conflict("an empty name".to_owned(), "the name of the column");
        }
        match (&column.unit, meaning) {
            (Some(unit), Meaning::WithoutUnit(channel)) => {
                Unit::parse(unit, channel.dimension(), &own)?;
            }
            (Some(unit), Meaning::Whole(_)) => {
                return conflict(
                    format!("the unit {unit} beside a name that needs none"),
                    "a unit in the name of the quantity, or beside it",
                );
            }
            (None, _) => {}
        }
        Ok(column)
    }

    /// What the map says the column to be.
    pub(super) fn meaning(&self, field: &str) -> Result<Meaning> {
        if let Some(channel) = Channel::ALL
            .into_iter()
            .find(|channel| channel.name() == self.quantity)
            .filter(|channel| channel.dimension() != Dimension::Ratio)
        {
            return Ok(Meaning::WithoutUnit(channel));
        }
        read_name(&self.quantity)
            .map(Meaning::Whole)
            .map_err(|error| match error {
                Error::UnknownName { found, allowed, .. } => {
                    let bare = Channel::ALL.map(Channel::name);
                    let known = bare.into_iter().chain(allowed.iter().map(String::as_str));
                    Error::UnknownName {
                        field: field.to_owned(),
                        nearest: nearest(&found, known),
                        found,
                        allowed,
                    }
                }
                other => other,
            })
    }

    /// What it is called by whoever looks for it: the quantity without its unit.
    pub(super) fn same_quantity(&self, other: &NamedColumn) -> bool {
        let bare = |column: &NamedColumn| match column.meaning("") {
            Ok(Meaning::WithoutUnit(channel) | Meaning::Whole(ColumnName::Channel(channel, _))) => {
                channel.name().to_owned()
            }
            Ok(Meaning::Whole(ColumnName::Time | ColumnName::TimeIn(_))) => "time".to_owned(),
            _ => column.quantity.clone(),
        };
        bare(self) == bare(other)
    }
}

/// The column in which a meter or logger says how it fared, and what it says of good rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatusColumn {
    /// The name of the column.
    pub column: String,
    /// The states of rows to use.
    pub good: Vec<String>,
}

impl StatusColumn {
    /// A column, and the states of rows to use.
    ///
    /// # Errors
    /// No name, or no state; the error names `field`.
    pub fn new(column: &str, good: Vec<String>, field: &str) -> Result<StatusColumn> {
        if column.trim().is_empty() || good.is_empty() {
            return Err(Error::Missing {
                field: field.to_owned(),
                needed: "the name of a column, and the states of rows to use".to_owned(),
            });
        }
        Ok(StatusColumn {
            column: column.trim().to_owned(),
            good,
        })
    }

    /// Whether a row with that state is to be used.
    pub(crate) fn accepts(&self, status: &str) -> bool {
        let status = status.trim();
        self.good.iter().any(|good| good.trim() == status)
    }
}

/// How a table is to be read: what is stated counts, the rest is recognised and said.
///
/// # Example
/// ```
/// use flowdoubt::table::{DecimalSign, NamedColumn, TableOptions};
/// let mut options = TableOptions::default();
/// options.decimal = Some(DecimalSign::Comma);
/// let column = NamedColumn::new("transit_time_us", vec!["TT".to_owned()], None, "columns")?;
/// options.columns.push(column);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq)]
#[non_exhaustive]
pub struct TableOptions {
    /// What parts the columns of a text.
    pub delimiter: Option<Delimiter>,
    /// What stands before the decimals of a number.
    pub decimal: Option<DecimalSign>,
    /// The encoding of a text, by its label in the WHATWG Encoding Standard, or `utf-16`, `latin-1`.
    pub encoding: Option<String>,
    /// Number of rows before the names of the columns.
    pub skip_rows: Option<usize>,
    /// The sheet of a workbook.
    pub sheet: Option<String>,
    /// Columns by the names that the table gives them.
    pub columns: Vec<NamedColumn>,
    /// The column of a status; rows of other states are left out.
    pub status: Option<StatusColumn>,
}

impl TableOptions {
    /// Refuses an encoding that is not known.
    ///
    /// # Errors
    /// A label that the WHATWG Encoding Standard does not have; the error names `field`.
    pub fn check_encoding(label: &str, field: &str) -> Result<()> {
        super::encoding::of_label(label, &[], field).map(|_| ())
    }

    /// These, and where they say nothing the others.
    pub fn or(&self, others: &TableOptions) -> TableOptions {
        let mut columns = self.columns.clone();
        let unsaid = others.columns.iter().filter(|other| {
            let mut own = self.columns.iter();
            !own.any(|own| own.same_quantity(other))
        });
        columns.extend(unsaid.cloned());
        TableOptions {
            delimiter: self.delimiter.or(others.delimiter),
            decimal: self.decimal.or(others.decimal),
            encoding: self.encoding.clone().or_else(|| others.encoding.clone()),
            skip_rows: self.skip_rows.or(others.skip_rows),
            sheet: self.sheet.clone().or_else(|| others.sheet.clone()),
            columns,
            status: self.status.clone().or_else(|| others.status.clone()),
        }
    }
}
