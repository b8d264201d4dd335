//! Numerical integration of a function of one variable.

/// An integral and an estimate of its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quadrature {
    /// The value of the integral.
    pub value: f64,
    /// A cautious estimate of the error: the sum of the differences between two rules.
    pub error: f64,
}

/// Abscissae of the 15-point Kronrod rule above zero, and zero; every second one, from the second
/// on, belongs to the 7-point Gauss rule.
const NODES: [f64; 8] = [
    0.991_455_371_120_812_6,
    0.949_107_912_342_758_5,
    0.864_864_423_359_769_1,
    0.741_531_185_599_394_4,
    0.586_087_235_467_691_1,
    0.405_845_151_377_397_2,
    0.207_784_955_007_898_47,
    0.0,
];
const KRONROD: [f64; 8] = [
    0.022_935_322_010_529_224,
    0.063_092_092_629_978_55,
    0.104_790_010_322_250_18,
    0.140_653_259_715_525_92,
    0.169_004_726_639_267_9,
    0.190_350_578_064_785_4,
    0.204_432_940_075_298_9,
    0.209_482_141_084_727_82,
];
const GAUSS: [f64; 4] = [
    0.129_484_966_168_869_7,
    0.279_705_391_489_276_64,
    0.381_830_050_505_118_9,
    0.417_959_183_673_469_4,
];

/// Nodes on [-1, 1] and weights of the 15-point Kronrod rule, which is exact for polynomials up to
/// degree 22: for smooth integrands of any scalar, at a fixed cost.
pub fn kronrod_rule() -> [(f64, f64); 15] {
    std::array::from_fn(|i| {
        let (place, sign) = if i < 8 { (i, -1.0) } else { (14 - i, 1.0) };
        (sign * NODES[place], KRONROD[place])
    })
}

/// Panels after which the integral is returned as it is.
const MOST_PANELS: usize = 2000;

#[derive(Clone, Copy)]
struct Panel {
    low: f64,
    high: f64,
    value: f64,
    error: f64,
}

/// The integral of `f` from `low` to `high`, both finite, to `tolerance` (absolute).
///
/// The panel with the largest error is halved until the errors add up to no more than the
/// tolerance. `f` is never evaluated at the ends, so it may be singular there.
///
/// # Source
/// A. S. Kronrod 1965; nodes, weights and the strategy as in R. Piessens et al., *QUADPACK*,
/// Springer 1983.
pub fn integrate(f: impl Fn(f64) -> f64, low: f64, high: f64, tolerance: f64) -> Quadrature {
    let mut panels = vec![panel(&f, low, high)];
    loop {
        let error: f64 = panels.iter().map(|p| p.error).sum();
        let worst = (0..panels.len())
            .max_by(|a, b| panels[*a].error.total_cmp(&panels[*b].error))
            .unwrap_or(0);
        let Panel { low, high, .. } = panels[worst];
        let middle = 0.5 * (low + high);
        let done = error <= tolerance || panels.len() >= MOST_PANELS;
        if done || middle <= low || middle >= high {
            let value = panels.iter().map(|p| p.value).sum();
            return Quadrature { value, error };
        }
        panels[worst] = panel(&f, low, middle);
        panels.push(panel(&f, middle, high));
    }
}

fn panel(f: &impl Fn(f64) -> f64, low: f64, high: f64) -> Panel {
    let (centre, half) = (0.5 * (low + high), 0.5 * (high - low));
    let (mut kronrod, mut gauss) = (0.0, 0.0);
    for (i, node) in NODES.iter().enumerate() {
        let pair = if *node == 0.0 {
            f(centre)
        } else {
            f(centre - half * node) + f(centre + half * node)
        };
        kronrod += KRONROD[i] * pair;
        if i % 2 == 1 {
            gauss += GAUSS[i / 2] * pair;
        }
    }
    Panel {
        low,
        high,
        value: kronrod * half,
        error: ((kronrod - gauss) * half).abs(),
    }
}
