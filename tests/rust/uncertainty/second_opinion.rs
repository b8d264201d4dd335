//! Distributions against those of `statrs`, which has its own functions for all of them.

use crate::support::assert_relative;
use flowdoubt::uncertainty::Distribution as Own;
use statrs::distribution::{
    Beta, Continuous, ContinuousCDF, Exp, Gamma, LogNormal, Normal, StudentsT, Triangular, Uniform,
};

/// Quantiles, at which density and distribution function are compared; the fits of `statrs` leave some
/// 1e-10 of them.
#[track_caller]
fn agree<D>(own: &Own, other: &D)
where
    D: Continuous<f64, f64> + ContinuousCDF<f64, f64> + statrs::statistics::Distribution<f64>,
{
    let what = format!("{own:?}");
    for p in [1e-3, 0.05, 0.3, 0.5, 0.77, 0.975, 0.9999] {
        let x = own.quantile(p);
        assert_relative(
            own.cdf(x),
            other.cdf(x),
            1e-9,
            &format!("cdf of {what} at {x}"),
        );
        let density = own.density(x).expect("a density");
        assert_relative(
            density,
            other.pdf(x),
            1e-9,
            &format!("density of {what} at {x}"),
        );
    }
    assert_relative(own.mean(), other.mean().expect("mean"), 1e-12, &what);
    assert_relative(
        own.variance(),
        other.variance().expect("variance"),
        1e-12,
        &what,
    );
}

#[test]
fn statrs_agrees_on_every_distribution_that_it_has() {
    let normal = Own::Normal {
        mean: 3.0,
        standard_deviation: 0.5,
    };
    agree(&normal, &Normal::new(3.0, 0.5).expect("normal"));
    let rectangular = Own::Rectangular {
        lower: -1.0,
        upper: 3.0,
    };
    agree(&rectangular, &Uniform::new(-1.0, 3.0).expect("uniform"));
    let triangular = Own::Triangular {
        lower: 1.0,
        upper: 5.0,
    };
    agree(
        &triangular,
        &Triangular::new(1.0, 5.0, 3.0).expect("triangular"),
    );
    for dof in [2.5, 4.0, 9.0, 60.0] {
        let t = Own::StudentT {
            location: 2.0,
            scale: 0.3,
            dof,
        };
        agree(&t, &StudentsT::new(2.0, 0.3, dof).expect("t"));
    }
    agree(
        &Own::Exponential { mean: 4.0 },
        &Exp::new(0.25).expect("exponential"),
    );
    for shape in [0.7, 1.0, 6.0] {
        // statrs has the rate, one over the scale
        agree(
            &Own::Gamma { shape, scale: 2.0 },
            &Gamma::new(shape, 0.5).expect("gamma"),
        );
    }
    for (alpha, beta) in [(0.5, 0.5), (2.0, 5.0)] {
        let own = Own::Beta {
            alpha,
            beta,
            lower: 0.0,
            upper: 1.0,
        };
        agree(&own, &Beta::new(alpha, beta).expect("beta"));
    }
    let lognormal = Own::Lognormal {
        log_mean: 0.2,
        log_standard_deviation: 0.4,
    };
    agree(&lognormal, &LogNormal::new(0.2, 0.4).expect("lognormal"));
}
