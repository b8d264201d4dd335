//! The same bits however a tally is cut, and what does not belong together.

use super::part;
use super::{Columns, bytes, of_one, run, two_of_three, uniform};
use crate::support::{assert_refused, demo, demo_readings, evaluate};
use flowdoubt::montecarlo::{BlockModel, IntervalKind, Tally, TallyPlan, WithInstructionSet};
use flowdoubt::scalar::InstructionSet;
use flowdoubt::uncertainty::Output;
use flowdoubt::{Error, Result};
use proptest::prelude::*;
use std::ops::ControlFlow;

#[test]
fn threads_blocks_and_instruction_sets_change_no_bit() {
    let set = uniform(&["a", "b", "c"]);
    let run = run(70_003);
    let with_threads = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("pool")
            .install(|| bytes(&run.tally(&two_of_three(), &set).expect("tally")))
    };
    let reference = with_threads(1);
    for threads in [2, 7] {
        assert_eq!(with_threads(threads), reference, "{threads} threads");
    }
    for block in [1, 1000, 2049, 5000, 65_536, 1 << 20] {
        let model = Columns {
            block,
            ..two_of_three()
        };
        let found = bytes(&run.tally(&model, &set).expect("tally"));
        assert_eq!(found, reference, "blocks of {block}");
    }
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("evaluation");
    let of = |instruction_set| {
        let model = WithInstructionSet {
            model: &evaluation.model,
            instruction_set,
        };
        bytes(
            &super::run(5001)
                .tally(&model, &evaluation.inputs)
                .expect("tally"),
        )
    };
    let baseline = of(InstructionSet::Baseline);
    for set in InstructionSet::available() {
        assert_eq!(of(set), baseline, "{set:?}");
    }
}

/// The digest that every machine must meet; a change is value-breaking.
#[test]
fn a_tally_of_sums_is_pinned() {
    let tallied = run(20_000).tally(&two_of_three(), &uniform(&["a", "b", "c"]));
    let tallied = tallied.expect("tally");
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for summary in tallied.of_outputs() {
        for value in [summary.mean, summary.standard_uncertainty] {
            for byte in value.to_bits().to_le_bytes() {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
            }
        }
    }
    let pinned: u64 = 735_214_465_390_446_744;
    assert_eq!(hash, pinned);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// However a run is cut, and in whatever order the parts are merged, in memory or by bytes.
    #[test]
    fn parts_merge_to_the_same_bits(
        mut cuts in prop::collection::vec(0_u64..=25, 0..6),
        order in any::<u64>(),
        through_bytes in any::<bool>(),
    ) {
        let (model, set) = (two_of_three(), uniform(&["a", "b", "c"]));
        let plan = run(50_001).plan(&model, &set).expect("plan");
        let plan = TallyPlan::from_bytes(&plan.to_bytes().expect("bytes")).expect("plan");
        prop_assert_eq!(plan.leaves(), 25);
        let whole = part(&plan, &model, &set, 0, 25).to_bytes().expect("bytes");
        cuts.extend([0, 25]);
        cuts.sort_unstable();
        let mut parts: Vec<Tally> = cuts
            .windows(2)
            .map(|pair| part(&plan, &model, &set, pair[0], pair[1]))
            .collect();
        let mut all = Tally::new(&plan);
        let mut order = order;
        while !parts.is_empty() {
            let next = parts.swap_remove((order % parts.len() as u64) as usize);
            order = order.rotate_right(7) ^ 0x9e37;
            if through_bytes {
                all.merge_bytes(&plan, &next.to_bytes().expect("bytes")).expect("merge");
            } else {
                all.merge(&next).expect("merge");
            }
        }
        prop_assert_eq!(all.to_bytes().expect("bytes"), whole);
        prop_assert!(plan.finish(&model, &set, all).is_ok());
    }
}

#[test]
fn what_does_not_belong_together_is_refused() {
    let (model, set) = (two_of_three(), uniform(&["a", "b", "c"]));
    let plan = run(10_000).plan(&model, &set).expect("plan");
    let other = run(10_001).plan(&model, &set).expect("plan");
    let mut tally = part(&plan, &model, &set, 0, 3);
    let again = part(&plan, &model, &set, 2, 3);
    assert_refused(tally.merge(&again), "conflict", &["each trial once"]);
    let strange = part(&other, &model, &set, 3, 4);
    assert_refused(tally.merge(&strange), "conflict", &["another run"]);
    assert_refused(tally.merge_bytes(&plan, &[1, 2, 3]), "syntax", &["tally"]);
    assert_refused(TallyPlan::from_bytes(&[0; 9]), "syntax", &["plan of a run"]);
    assert_refused(
        plan.finish(&model, &set, tally),
        "conflict",
        &["all 10000 trials"],
    );
    assert_refused(
        run(99).tally(&model, &set),
        "out-of-range",
        &["100 to 1e10"],
    );
    let mut pass = |_| ControlFlow::Continue(());
    let beyond = plan.tally(&model, &set, 3..6, true, &mut pass);
    assert_refused(beyond, "out-of-range", &["leaves"]);
    let narrow = plan.tally(&model, &uniform(&["a"]), 0..1, true, &mut pass);
    assert_refused(narrow, "conflict", &["2 outputs and 1 inputs"]);
    let tallied = run(1000).tally(&model, &set).expect("tally");
    assert_refused(
        tallied.of_output(0).quantile(1.5),
        "out-of-range",
        &["0 to 1"],
    );
    let none = tallied.of_output(0).interval(1.0, IntervalKind::Shortest);
    assert_refused(none, "out-of-range", &["1000 trials"]);
}

/// A model that loses a value of the last block, which has 1000 trials; the pilot ends before.
struct Careless;

impl BlockModel for Careless {
    fn output_quantities(&self) -> Vec<Output> {
        of_one(|x| x).output_quantities()
    }
    fn evaluate_block(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>> {
        let lost = usize::from(size == 1000);
        Ok(vec![x[0][lost..].to_vec()])
    }
}

#[test]
fn a_block_without_a_value_for_each_trial_is_refused() {
    let (run, inputs) = (run(66_536), uniform(&["a"]));
    let refused = |error: Option<Error>| {
        let length = matches!(error, Some(Error::Length { found: 999, .. }));
        assert!(length, "{error:?}");
    };
    refused(run.joint(&Careless, &inputs).err());
    refused(run.tally(&Careless, &inputs).err());
}
