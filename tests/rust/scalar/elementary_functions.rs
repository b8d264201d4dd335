//! Elementary functions by name, for the tests and for the golden script that measures them.

use flowdoubt::scalar::{Scalar, special::normal_quantile};

pub fn value(function: &str, x: f64, y: f64) -> f64 {
    match function {
        "exp" => Scalar::exp(x),
        "ln" => Scalar::ln(x),
        "sin" => Scalar::sin(x),
        "cos" => Scalar::cos(x),
        "tan" => Scalar::tan(x),
        "asin" => Scalar::asin(x),
        "atan" => Scalar::atan(x),
        "sqrt" => Scalar::sqrt(x),
        "powf" => Scalar::powf(x, y),
        "normal_quantile" => normal_quantile(x),
        _ => panic!("no function {function}"),
    }
}
