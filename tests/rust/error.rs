//! What a caller can do with an error: ask for its kind, and for the error of others that led to it.

use flowdoubt::error::ErrorKind;
use flowdoubt::scalar::Scalar;
use flowdoubt::site::Site;
use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output, propagate};
use flowdoubt::units::Unit;
use flowdoubt::{Error, Result};
use std::error::Error as _;
use std::fmt;
use std::io;

#[test]
fn the_answer_of_the_system_is_the_source() {
    let error = Site::load("nowhere/site.toml").expect_err("no such file");
    assert_eq!(error.kind(), ErrorKind::File);
    let source = error.source().expect("a source");
    let answer: &io::Error = source.downcast_ref().expect("of the system");
    assert_eq!(answer.kind(), io::ErrorKind::NotFound);
    // a folder is refused without asking the system to read it
    let error = Site::load("notebooks").expect_err("a folder");
    assert_eq!(
        (error.kind(), error.source().is_none()),
        (ErrorKind::File, true)
    );
}

#[test]
fn an_error_in_a_file_is_of_the_kind_of_what_is_wrong_there() {
    let error = Site::from_toml("[site]\nname = 3\n", "site.toml").expect_err("no name");
    assert!(matches!(error, Error::InFile { .. }));
    assert_eq!(error.kind(), ErrorKind::Input);
}

/// An error type of the model's own.
#[derive(Debug, PartialEq)]
struct ValveShut {
    valve: u8,
}

impl fmt::Display for ValveShut {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "valve {} is shut", self.valve)
    }
}

impl std::error::Error for ValveShut {}

struct Valves {
    boxed: bool,
}

impl Valves {
    fn open(valve: u8) -> std::result::Result<(), ValveShut> {
        Err(ValveShut { valve })
    }

    fn boxed(valve: u8) -> std::result::Result<(), Box<dyn std::error::Error + Send + Sync>> {
        Ok(Valves::open(valve)?)
    }
}

impl MeasurementModel for Valves {
    type Outputs<S: Scalar> = [S; 1];

    fn outputs(&self) -> Vec<Output> {
        let (name, unit) = ("flow".to_owned(), Unit::named("m3/s"));
        vec![Output { name, unit }]
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        if self.boxed {
            Valves::boxed(3).map_err(Error::model)?;
        }
        Valves::open(3).map_err(Error::model)?;
        Ok([x[0]])
    }
}

#[test]
fn a_models_own_error_comes_back_as_the_source() {
    let input = Input::with_standard_uncertainty("flow", 1.0, 0.1, f64::INFINITY);
    let inputs = InputSet::independent(vec![input.expect("an input")]).expect("a set");
    for boxed in [false, true] {
        let error = propagate(&Valves { boxed }, &inputs).expect_err("shut");
        assert_eq!(error.kind(), ErrorKind::Model);
        let own: Option<&ValveShut> = error.source().and_then(|source| source.downcast_ref());
        assert_eq!(own, Some(&ValveShut { valve: 3 }));
        assert_eq!(
            error.to_string(),
            "the model could not be evaluated: valve 3 is shut"
        );
    }
    let in_words = Error::model("valve 3 is shut");
    assert_eq!(
        in_words,
        Error::model(ValveShut { valve: 3 }),
        "equal where they say the same"
    );
}
