//! Profile laws in closed form, and their names.

use super::{COLEBROOK, LOGARITHMIC, POWER, SMOOTH, WAKE, factor};
use crate::support::tables::against;
use crate::support::{assert_printed, assert_refused, assert_relative};
use flowdoubt::profile::{
    Exponent, LOGARITHMIC_CONSTANTS, ProfileLaw, check_laws, friction_factor, turbulent_factor,
};

#[test]
fn power_law_is_its_closed_form() {
    let of = |n: f64| {
        turbulent_factor(
            1e5,
            SMOOTH,
            ProfileLaw::Power(Exponent::Fixed { n }),
            COLEBROOK,
        )
    };
    assert_relative(of(7.0), 14.0 / 15.0, 1e-15, "n = 7");
    assert_printed(of(7.0), 0.933_333, 1e-6, "n = 7");
    // U = y^(1/n): path mean n/(n+1), area mean 2 n^2/((n+1)(2n+1))
    for n in [5.0, 6.5, 9.0, 11.0] {
        let (path_mean, area_mean) = (n / (n + 1.0), 2.0 * n * n / ((n + 1.0) * (2.0 * n + 1.0)));
        assert_relative(of(n), area_mean / path_mean, 1e-15, "power law");
    }
    for reynolds in [1e4, 1e6] {
        let n = friction_factor(reynolds, 1e-4, COLEBROOK).sqrt().recip();
        let found = turbulent_factor(reynolds, 1e-4, POWER, COLEBROOK);
        assert_relative(found, of(n), 1e-15, "n = 1/sqrt(f)");
    }
}

#[test]
fn logarithmic_law_is_its_closed_form() {
    for kappa in [0.384, 0.40, 0.436] {
        for (reynolds, roughness) in [(1e4, 0.0), (1e6, 1e-4), (1e7, 1e-2)] {
            let f = friction_factor(reynolds, roughness, COLEBROOK);
            // below the axis the path mean lies by u*/kappa, the area mean by 3 u*/(2 kappa)
            let (path, area) = (1.0 / kappa, 1.5 / kappa);
            let k = 1.0 / (1.0 + (f / 8.0).sqrt() * (area - path));
            let law = ProfileLaw::Logarithmic { kappa };
            let found = turbulent_factor(reynolds, roughness, law, COLEBROOK);
            assert_relative(found, k, 1e-14, "logarithmic law");
        }
    }
}

#[test]
fn closed_forms_as_tabulated() {
    let mut compared = against(
        "scipy",
        "profile factor of the logarithmic and the power law",
    );
    // computed with scipy, friction of Prandtl and Karman
    for (reynolds, logarithmic, power) in [
        (1e4, 0.927_93, 0.919_22),
        (3e4, 0.936_57, 0.928_83),
        (1e5, 0.944_04, 0.937_15),
        (3e5, 0.949_53, 0.943_28),
        (1e6, 0.954_48, 0.948_80),
        (1e7, 0.961_74, 0.956_93),
    ] {
        compared.absolute(
            factor(reynolds, LOGARITHMIC),
            logarithmic,
            1.5e-5,
            "logarithmic",
        );
        compared.absolute(factor(reynolds, POWER), power, 1.5e-5, "power");
    }
}

#[test]
fn exponents_as_tabulated() {
    let mut compared = against("scipy", "profile factor by the exponent of Miller");
    let mut ratios = against(
        "J. Nikuradse in H. Schlichting, Boundary-Layer Theory (from memory)",
        "mean over axial velocity",
    );
    // computed with scipy
    for (reynolds, k) in [
        (1e4, 0.929_97),
        (3e4, 0.936_96),
        (1e5, 0.943_18),
        (3e5, 0.947_87),
        (1e6, 0.952_20),
        (1e7, 0.958_75),
    ] {
        let miller = ProfileLaw::Power(Exponent::Miller);
        compared.printed(factor(reynolds, miller), k, 1e-5, "n = 1.66 log10(Re)");
    }
    let n = |exponent: Exponent, reynolds: f64| exponent.n(reynolds, SMOOTH, COLEBROOK, None);
    // 3/(2 ln(Re)) is the exponent, by hand
    assert_relative(
        n(Exponent::Barenblatt, 1e5),
        7.675_283_643_313_486,
        1e-15,
        "Barenblatt",
    );
    // Nikuradse's table, H. Schlichting, Boundary-Layer Theory
    for (reynolds, tabulated) in [
        (4e3, 6.0),
        (2.3e4, 6.6),
        (1.1e5, 7.0),
        (1.1e6, 8.8),
        (2e6, 10.0),
        (3.24e6, 10.0),
    ] {
        assert_relative(
            n(Exponent::Nikuradse, reynolds),
            tabulated,
            1e-14,
            "Nikuradse",
        );
    }
    assert_eq!(n(Exponent::Nikuradse, 2500.0), 6.0);
    // measured mean over axial velocity, from memory: 2 n^2/((n + 1)(2 n + 1))
    for (reynolds, ratio) in [
        (4e3, 0.791),
        (2.3e4, 0.807),
        (1.1e5, 0.817),
        (1.1e6, 0.850),
        (3.24e6, 0.865),
    ] {
        let n = n(Exponent::Nikuradse, reynolds);
        let found = 2.0 * n * n / ((n + 1.0) * (2.0 * n + 1.0));
        ratios.absolute(found, ratio, 1e-3, "mean over axial velocity");
    }
    let nikuradse = ProfileLaw::Power(Exponent::Nikuradse);
    assert_eq!(check_laws(3.24e6, 0.0, nikuradse, COLEBROOK), Ok(()));
    let parts = ["Reynolds number", "3.24e6", "Nikuradse"];
    assert_refused(
        check_laws(3.3e6, 0.0, nikuradse, COLEBROOK),
        "out-of-range",
        &parts,
    );
}

#[test]
fn logarithmic_constants_as_tabulated() {
    let mut compared = against(
        "scipy",
        "profile factor by constants of the logarithmic law",
    );
    // computed with scipy, friction of Prandtl and Karman
    for (name, at_1e4, at_1e6) in [
        ("logarithmic_nikuradse", 0.927_93, 0.954_48),
        ("logarithmic_coles", 0.929_56, 0.955_54),
        ("logarithmic_mckeon", 0.931_27, 0.956_65),
        ("logarithmic_zagarola_smits", 0.933_48, 0.958_08),
    ] {
        let law = ProfileLaw::from_name(name, "law").expect("a name");
        compared.absolute(factor(1e4, law), at_1e4, 1.5e-5, name);
        compared.absolute(factor(1e6, law), at_1e6, 1.5e-5, name);
    }
    for set in LOGARITHMIC_CONSTANTS {
        let law = ProfileLaw::Logarithmic { kappa: set.kappa };
        assert_eq!(ProfileLaw::from_name(set.name, "law"), Ok(law));
        assert_eq!(law.with_kappa(Some(set.kappa), "kappa"), Ok(law));
    }
}

#[test]
fn every_law_has_one_name() {
    let named: Vec<_> = ProfileLaw::named().collect();
    for (i, (name, law)) in named.iter().enumerate() {
        assert_eq!(ProfileLaw::from_name(name, "law"), Ok(*law));
        assert!(named[..i].iter().all(|(other, _)| other != name));
        assert!(!law.in_words().is_empty());
    }
    let kept = ["fitted", "wake", "logarithmic", "power"];
    assert!(
        kept.iter()
            .all(|name| named.iter().any(|(own, _)| own == name))
    );
    assert_eq!(
        ProfileLaw::from_name("fitted", "law"),
        Ok(ProfileLaw::default())
    );
    let parts = ["profile.law", "did you mean `logarithmic`"];
    assert_refused(
        ProfileLaw::from_name("logaritmic", "profile.law"),
        "unknown-name",
        &parts,
    );
}

#[test]
fn constants_go_with_their_law() {
    assert_eq!(WAKE.with_kappa(None, "kappa"), Ok(WAKE));
    assert_eq!(WAKE.with_n(None, "n"), Ok(WAKE));
    let eighth = ProfileLaw::Power(Exponent::Fixed { n: 8.0 });
    assert_eq!(POWER.with_n(Some(8.0), "n"), Ok(eighth));
    assert_refused(
        WAKE.with_n(Some(8.0), "profile.n"),
        "conflict",
        &["profile.n", "law = \"power\""],
    );
    let parts = ["kappa", "power law", "law = \"logarithmic\""];
    assert_refused(POWER.with_kappa(Some(0.4), "kappa"), "conflict", &parts);
    for n in [3.9, 15.1, f64::NAN] {
        assert_refused(POWER.with_n(Some(n), "n"), "out-of-range", &["4 to 15"]);
    }
    for kappa in [0.34, 0.46, f64::NAN] {
        let refused = LOGARITHMIC.with_kappa(Some(kappa), "kappa");
        assert_refused(refused, "out-of-range", &["0.35 to 0.45"]);
    }
}
