//! E_n and zeta.

use crate::support::{assert_refused, assert_relative};
use flowdoubt::verify::{e_n, zeta_score};
use proptest::prelude::*;

#[test]
fn worked_by_hand() {
    // definitions of ISO/IEC 17043 and ISO 13528 from memory; numbers worked by hand:
    // 0.8 / sqrt(0.9^2 + 0.6^2) = 0.8 / 1.081665
    let found = e_n(100.8, 0.9, 100.0, 0.6, 0.0).expect("E_n");
    assert_relative(found, 0.739_600_261_6, 1e-9, "E_n");
    // 0.8 / sqrt(0.45^2 + 0.3^2): twice as much with half the uncertainty
    let found = zeta_score(100.8, 0.45, 100.0, 0.3, 0.0).expect("zeta");
    assert_relative(found, 1.479_200_523_3, 1e-9, "zeta");
    // 3-4-5
    assert_relative(
        e_n(12.0, 3.0, 7.0, 4.0, 0.0).expect("E_n"),
        1.0,
        1e-15,
        "E_n",
    );
    // fully correlated: uncertainties subtract
    assert_relative(
        e_n(12.0, 3.0, 7.0, 4.0, 1.0).expect("E_n"),
        5.0,
        1e-15,
        "E_n",
    );
}

#[test]
fn nonsense_is_refused() {
    assert_refused(e_n(f64::NAN, 1.0, 0.0, 1.0, 0.0), "out-of-range", &["x"]);
    assert_refused(
        e_n(1.0, -1.0, 0.0, 1.0, 0.0),
        "out-of-range",
        &["uncertainty of x"],
    );
    assert_refused(
        e_n(1.0, 1.0, 0.0, f64::INFINITY, 0.0),
        "out-of-range",
        &["of the reference"],
    );
    assert_refused(
        e_n(1.0, 1.0, 0.0, 1.0, 1.5),
        "out-of-range",
        &["correlation", "-1 to 1"],
    );
    assert_refused(
        zeta_score(1.0, 0.0, 0.0, 0.0, 0.0),
        "out-of-range",
        &["above 0"],
    );
    assert_refused(
        zeta_score(1.0, 2.0, 0.0, 2.0, 1.0),
        "out-of-range",
        &["above 0"],
    );
}

proptest! {
    #[test]
    fn swapping_sides_turns_the_sign(
        x in -1e3..1e3, y in -1e3..1e3, u in 1e-3..10.0, v in 1e-3..10.0, r in -0.99..0.99,
    ) {
        let forth = e_n(x, u, y, v, r).expect("E_n");
        let back = e_n(y, v, x, u, r).expect("E_n");
        prop_assert_eq!(forth, -back);
        // what both share does not tell them apart
        if x != y && r > 0.0 {
            let apart = e_n(x, u, y, v, 0.0).expect("E_n");
            prop_assert!(forth.abs() > apart.abs());
        }
        // twice the uncertainty, half the score
        let half = e_n(x, 2.0 * u, y, 2.0 * v, r).expect("E_n");
        prop_assert!((2.0 * half - forth).abs() <= 1e-12 * forth.abs());
    }
}
