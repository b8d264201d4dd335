//! The worksheet: every step from raw readings to expanded uncertainty as a numbered list, for
//! somebody with a pocket calculator.
//!
//! Nothing is computed here that the evaluation has not computed: values come from the model as it
//! runs, from inputs and budget; equations stand beside the code that they describe.

mod budget;
mod inputs;
mod number;
mod render;

use crate::derivation::{Step, Token, Way, tokens};
use crate::error::{Error, Result};
use crate::evaluate::Evaluation;
use crate::saving::write_whole;
use number::{DIGITS, DIGITS_PUT_IN, shown};
use std::collections::HashMap;
use std::path::Path;

/// A line of a worksheet.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Line {
    /// Its number, counted from 1.
    pub number: usize,
    /// The heading under which it stands.
    pub section: &'static str,
    /// The symbol of the quantity.
    pub symbol: String,
    /// What it is.
    pub words: String,
    /// The equation; empty where the value was stated.
    pub equation: String,
    /// The equation with numbers put in, each with 12 significant digits.
    pub numbers: String,
    /// The value, in `unit`.
    pub value: f64,
    /// The value with 10 significant digits, which the numbers put in give again.
    pub shown: String,
    /// The unit.
    pub unit: String,
    /// Where equation or value come from.
    pub source: String,
}

/// Every step from raw readings to expanded uncertainty.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Worksheet {
    /// The name of the site.
    pub site: String,
    /// The result in one line, rounded (JCGM 100:2008, 7.2.6).
    pub headline: String,
    /// The software.
    pub software: String,
    /// The lines.
    pub lines: Vec<Line>,
}

/// A form of a worksheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Form {
    /// Plain text.
    Text,
    /// Markdown with tables.
    Markdown,
    /// A page of HTML.
    Html,
}

impl Form {
    /// The form that belongs to the suffix of a file's name.
    ///
    /// # Errors
    /// A suffix other than `.txt`, `.md` and `.html`.
    pub fn of_file(path: &Path) -> Result<Form> {
        let suffix = path.extension().unwrap_or_default().to_string_lossy();
        match suffix.as_ref() {
            "txt" => Ok(Form::Text),
            "md" => Ok(Form::Markdown),
            "html" => Ok(Form::Html),
            other => Err(Error::unknown_name(
                "suffix of the worksheet",
                other,
                &["txt", "md", "html"],
            )),
        }
    }
}

impl Evaluation {
    /// Every step from raw readings to expanded uncertainty, with equation, numbers put in, value
    /// and source.
    ///
    /// Each value is the one that the evaluation itself has. Recomputed from the numbers printed
    /// beside it, it comes out with all its printed digits.
    ///
    /// # Errors
    /// As [`Evaluation::expanded`].
    ///
    /// # Example
    /// ```
    /// use flowdoubt::{evaluate::Readings, site::Site};
    ///
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let evaluation = site.evaluate(&Readings::from_csv("notebooks/demo/readings.csv")?)?;
    /// let worksheet = evaluation.worksheet()?;
    /// let bore = worksheet.lines.iter().find(|line| line.symbol == "D").expect("a bore");
    /// assert_eq!(bore.equation, "d_w - 2*(e + e_L2)");
    /// assert_eq!(bore.value, evaluation.steps.inside_diameter);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn worksheet(&self) -> Result<Worksheet> {
        let symbols = self.model.input_symbols();
        let mut lines = Lines {
            section: "Inputs",
            ..Lines::default()
        };
        inputs::add(self, &symbols, &mut lines);
        lines.section = "From the inputs to the flow";
        for step in self.model.derivation(&self.inputs.estimates()) {
            lines.add(step);
        }
        lines.section = "Uncertainty of the flow";
        budget::add_uncertainty(self, &symbols, &mut lines)?;
        lines.section = "Result";
        budget::add_result(self, &mut lines)?;
        Ok(Worksheet {
            site: self.site.name.clone(),
            headline: self.headline()?,
            software: super::Software::this().in_words(),
            lines: lines.lines,
        })
    }
}

impl Worksheet {
    /// The worksheet in a form.
    pub fn in_form(&self, form: Form) -> String {
        match form {
            Form::Text => render::text(self),
            Form::Markdown => render::markdown(self),
            Form::Html => render::page(self),
        }
    }

    /// The worksheet as HTML to be put into a page; all words of the user are escaped.
    pub fn html_fragment(&self) -> String {
        render::fragment(self)
    }

    /// Writes the worksheet in the form that the suffix of the file's name tells.
    ///
    /// # Errors
    /// As [`Form::of_file`]; [`Error::Exists`] where `path` exists, unless `overwrite` is asked
    /// for; [`Error::File`].
    pub fn save(&self, path: impl AsRef<Path>, overwrite: bool) -> Result<()> {
        let path = path.as_ref();
        let text = self.in_form(Form::of_file(path)?);
        write_whole(path, overwrite, |file| {
            std::io::Write::write_all(file, text.as_bytes())
        })
    }
}

/// Lines as they come, with the values of the symbols so far.
#[derive(Default)]
struct Lines {
    section: &'static str,
    lines: Vec<Line>,
    values: HashMap<String, f64>,
}

impl Lines {
    fn add(&mut self, step: Step<f64>) {
        let (symbol, unit) = (step.symbol.into_owned(), step.unit);
        // a root is a number in its own equation
        if matches!(step.way, Way::Root(..) | Way::Words(_)) {
            self.values.insert(symbol.clone(), step.value);
        }
        let (equation, numbers, words) = match step.way {
            Way::Equation(side) => {
                let numbers = self.put_in(&side);
                (side.into_owned(), numbers, step.words.into_owned())
            }
            Way::Root(one, other) => {
                let numbers = format!("{} = {}", self.put_in(&one), self.put_in(&other));
                let words = format!("{}, the root of the equation: both sides agree", step.words);
                (format!("{one} = {other}"), numbers, words)
            }
            Way::Words(how) => {
                let words = format!("{}; {how}", step.words);
                (String::new(), String::new(), words)
            }
        };
        self.values.insert(symbol.clone(), step.value);
        self.lines.push(Line {
            number: self.lines.len() + 1,
            section: self.section,
            symbol,
            words,
            equation,
            numbers,
            value: step.value,
            shown: shown(step.value, DIGITS),
            unit: unit.into_owned(),
            source: step.source.into_owned(),
        });
    }

    /// An equation with the values of its symbols put in.
    fn put_in(&self, equation: &str) -> String {
        let part = |token: Token<'_>| match token {
            Token::Symbol(symbol) => match self.values.get(symbol) {
                Some(value) if *value < 0.0 => format!("({})", shown(*value, DIGITS_PUT_IN)),
                Some(value) => shown(*value, DIGITS_PUT_IN),
                None => symbol.to_owned(),
            },
            Token::Other(text) => text.to_owned(),
        };
        tokens(equation).into_iter().map(part).collect()
    }
}
