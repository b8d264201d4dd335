//! Derivatives of the Gibbs function of sea water with respect to temperature and pressure.
//!
//! Two polynomials in reduced temperature and pressure, one for pure water and one, in powers of
//! the root of salinity, for the salt. Terms of the formulations that vanish in the derivatives
//! needed here are left out, among them the only ones with a logarithm of salinity.
//!
//! # Source
//! Salt: IAPWS R13-08(2008), equation (4) and table 2, after R. Feistel, Deep-Sea Res. I 55 (2008)
//! 1639. Water: IAPWS SR7-09(2009), equation (1) and table 1 (numbers of tables from memory),
//! after R. Feistel, Deep-Sea Res. I 50 (2003) 703. Coefficients as carried by the Python package
//! iapws; the tests compare with another implementation, gsw.

use crate::scalar::Scalar;

/// Derivatives of the specific Gibbs energy g(T, p, S), in SI units.
pub(super) struct GibbsDerivatives<S> {
    /// By pressure: the specific volume, in m3/kg.
    pub p: S,
    /// Twice by temperature, in J/(kg K2).
    pub tt: S,
    /// By temperature and pressure, in m3/(kg K).
    pub tp: S,
    /// Twice by pressure, in m3/(kg Pa).
    pub pp: S,
}

/// Zero of the reduced temperature and its unit, in K.
const TEMPERATURE_K: [f64; 2] = [273.15, 40.0];
/// Zero of the reduced pressure and its unit, in Pa.
const PRESSURE_PA: [f64; 2] = [101_325.0, 1e8];
/// Unit of salinity, in kg/kg: 40/35 of the salinity of standard sea water.
const SALINITY_KG_KG: f64 = 0.035_165_04 * 40.0 / 35.0;

/// Highest power of the reduced temperature or pressure, plus one.
const POWERS: usize = 8;

/// Coefficients in J/kg, each with its powers of the root of salinity, of temperature and of
/// pressure.
#[rustfmt::skip]
const TERMS: [(usize, usize, usize, f64); 90] = [
    // pure water
    (0, 0, 1, 100_015.695_367_145),
    (0, 0, 2, -2_544.576_542_036_3),
    (0, 0, 3, 284.517_778_446_287),
    (0, 0, 4, -33.314_675_425_361_1),
    (0, 0, 5, 4.202_631_088_030_84),
    (0, 0, 6, -0.546_428_511_471_039),
    (0, 1, 1, -270.983_805_184_062),
    (0, 1, 2, 776.153_611_613_101),
    (0, 1, 3, -196.512_550_881_22),
    (0, 1, 4, 28.979_652_629_417_5),
    (0, 1, 5, -2.132_900_835_183_27),
    (0, 2, 0, -12_357.785_933_039),
    (0, 2, 1, 1_455.036_454_046_8),
    (0, 2, 2, -756.558_385_769_359),
    (0, 2, 3, 273.479_662_323_528),
    (0, 2, 4, -55.560_406_381_721_8),
    (0, 2, 5, 4.344_206_719_171_97),
    (0, 3, 0, 736.741_204_151_612),
    (0, 3, 1, -672.507_783_145_07),
    (0, 3, 2, 499.360_390_819_152),
    (0, 3, 3, -239.545_330_654_412),
    (0, 3, 4, 48.801_251_859_387_2),
    (0, 3, 5, -1.663_071_062_089_05),
    (0, 4, 0, -148.185_936_433_658),
    (0, 4, 1, 397.968_445_406_972),
    (0, 4, 2, -301.815_380_621_876),
    (0, 4, 3, 152.196_371_733_841),
    (0, 4, 4, -26.374_837_723_280_2),
    (0, 5, 0, 58.025_912_584_257_1),
    (0, 5, 1, -194.618_310_617_595),
    (0, 5, 2, 120.520_654_902_025),
    (0, 5, 3, -55.272_305_234_015_2),
    (0, 5, 4, 6.481_906_680_772_21),
    (0, 6, 0, -18.984_384_651_417_2),
    (0, 6, 1, 63.511_393_664_178_5),
    (0, 6, 2, -22.289_731_714_045_9),
    (0, 6, 3, 8.170_605_418_181_12),
    (0, 7, 0, 3.050_816_464_879_67),
    (0, 7, 1, -9.631_081_193_930_62),
    // salt
    (2, 2, 0, 880.031_352_997_204),
    (3, 2, 0, -43.066_467_597_804_2),
    (4, 2, 0, -68.557_250_920_449_1),
    (2, 3, 0, -225.267_649_263_401),
    (3, 3, 0, -10.022_737_086_187_5),
    (4, 3, 0, 49.366_769_485_625_4),
    (2, 4, 0, 91.426_044_775_125_9),
    (3, 4, 0, 0.875_600_661_808_945),
    (4, 4, 0, -17.139_757_741_978_8),
    (2, 5, 0, -21.660_324_087_531_1),
    (4, 5, 0, 2.496_970_095_695_08),
    (2, 6, 0, 2.130_169_708_471_83),
    (2, 0, 1, -3_310.491_540_448_39),
    (3, 0, 1, 199.459_603_073_901),
    (4, 0, 1, -54.791_913_353_288_7),
    (5, 0, 1, 36.028_419_561_108_6),
    (2, 1, 1, 729.116_529_735_046),
    (3, 1, 1, -175.292_041_186_547),
    (4, 1, 1, -22.668_355_851_282_9),
    (2, 2, 1, -860.764_303_783_977),
    (3, 2, 1, 383.058_066_002_476),
    (2, 3, 1, 694.244_814_133_268),
    (3, 3, 1, -460.319_931_801_257),
    (2, 4, 1, -297.728_741_987_187),
    (3, 4, 1, 234.565_187_611_355),
    (2, 0, 2, 384.794_152_978_599),
    (3, 0, 2, -52.294_090_928_133_5),
    (4, 0, 2, -4.081_939_789_122_61),
    (2, 1, 2, -343.956_902_961_561),
    (3, 1, 2, 83.192_392_780_181_9),
    (2, 2, 2, 337.409_530_269_367),
    (3, 2, 2, -54.191_726_251_711_2),
    (2, 3, 2, -204.889_641_964_903),
    (2, 4, 2, 74.726_141_138_756),
    (2, 0, 3, -96.532_432_010_745_8),
    (3, 0, 3, 68.044_494_272_645_9),
    (4, 0, 3, -30.175_511_197_116_1),
    (2, 1, 3, 124.687_671_116_248),
    (3, 1, 3, -29.483_064_349_429),
    (2, 2, 3, -178.314_556_207_638),
    (3, 2, 3, 25.639_848_738_991_4),
    (2, 3, 3, 113.561_697_840_594),
    (2, 4, 3, -36.487_291_900_158_8),
    (2, 0, 4, 15.840_817_276_682_4),
    (3, 0, 4, -3.412_519_324_412_82),
    (2, 1, 4, -31.656_964_386_073),
    (2, 2, 4, 44.204_035_830_8),
    (2, 3, 4, -11.128_273_432_641_3),
    (2, 0, 5, -2.624_801_565_909_92),
    (2, 1, 5, 7.046_588_033_154_49),
    (2, 2, 5, -7.920_015_472_116_82),
];

/// The powers of a reduced variable and of its first and second derivative, in `1/unit`.
fn powers<S: Scalar>(reduced: S, unit: f64) -> [[S; POWERS]; 3] {
    let mut power = [S::constant(1.0); POWERS];
    for n in 1..POWERS {
        power[n] = power[n - 1] * reduced;
    }
    let lower = |order: usize| {
        std::array::from_fn(|n| {
            let factor: f64 = (0..order).map(|k| (n as f64 - k as f64) / unit).product();
            power[n.saturating_sub(order)] * factor
        })
    };
    [power, lower(1), lower(2)]
}

/// The derivatives at `temperature` in K, absolute `pressure` in Pa and `salinity` in kg/kg.
///
/// The root of salinity has no slope at zero, though everything made of it here has; a salinity of
/// exactly zero is treated so that derivatives stay finite. Below zero the result is NaN.
pub(super) fn gibbs_derivatives<S: Scalar>(
    temperature: S,
    pressure: S,
    salinity: S,
) -> GibbsDerivatives<S> {
    let [zero, unit] = TEMPERATURE_K;
    let t = powers((temperature - zero) / unit, unit);
    let [zero, unit] = PRESSURE_PA;
    let p = powers((pressure - zero) / unit, unit);

    let y = salinity / SALINITY_KG_KG;
    let tiny = S::constant(1e-40);
    let x = S::select(y.abs().less_than(tiny), tiny, y).sqrt();
    let one = S::constant(1.0);
    // the first power occurs in no term
    let root_power = [one, x, y, y * x, y * y, y * y * x];

    let nil = S::constant(0.0);
    let mut g = GibbsDerivatives {
        p: nil,
        tt: nil,
        tp: nil,
        pp: nil,
    };
    for &(i, j, k, coefficient) in &TERMS {
        let salt = root_power[i] * coefficient;
        if k >= 1 {
            g.p += salt * t[0][j] * p[1][k];
        }
        if j >= 2 {
            g.tt += salt * t[2][j] * p[0][k];
        }
        if j >= 1 && k >= 1 {
            g.tp += salt * t[1][j] * p[1][k];
        }
        if k >= 2 {
            g.pp += salt * t[0][j] * p[2][k];
        }
    }
    g
}
