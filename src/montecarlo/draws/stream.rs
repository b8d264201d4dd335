//! Reproducible random numbers: the draw for trial `i` of an input depends on the seed, on `i`
//! and on the name of the input only. So a new input leaves the draws of the others alone, and
//! any block of trials can be made anywhere.

use super::philox::pairs;
use super::xoshiro::next;
use crate::scalar::InstructionSet;
use crate::uncertainty::Sampler;
use rand::rand_core::{Infallible, TryRng, utils};

/// Generators side by side.
const LANES: usize = 16;
/// Trials for which the generators run on before they are started anew.
const PAGE: u64 = 2048;
/// Trials of a lane in a page.
const STEPS: u64 = PAGE / LANES as u64;

/// The states of the generators, word by word one for each.
type State = [[u64; LANES]; 4];

/// The random numbers of one input quantity.
///
/// Trials are in pages of 2048, and the trials of a page are dealt to 16 generators
/// xoshiro256+ in turn. Philox4x32-10 starts these: the
/// seed is its key, the hash of the input's name the upper half of its counters, and counters
/// `32 page + lane` and `32 page + 16 + lane` give the four words of a lane. It is a generator of
/// package `rand` as well, whose lowest bits are weaker than the others.
///
/// # Example
/// ```
/// use flowdoubt::montecarlo::Stream;
/// let mut stream = Stream::new(1, "pipe.wall");
/// let first = stream.next_uniform();
/// stream.seek(0);
/// assert_eq!(stream.next_uniform(), first);
/// ```
#[derive(Debug, Clone)]
pub struct Stream {
    key: u64,
    stream: u64,
    /// The trial of the next draw.
    next: u64,
    drawn: Drawn,
}

/// The bits of the trials that share a step with the last draw.
#[derive(Debug, Clone, Default)]
struct Drawn {
    /// The number of their step since the first page.
    step: Option<u64>,
    bits: [u64; LANES],
    /// The states after it.
    state: State,
}

impl Stream {
    /// The stream of the input called `name`.
    pub fn new(seed: u64, name: &str) -> Stream {
        Stream {
            key: seed,
            stream: fnv1a(name.as_bytes()),
            next: 0,
            drawn: Drawn::default(),
        }
    }

    /// Moves to the draw of trial `trial`.
    pub fn seek(&mut self, trial: u64) {
        self.next = trial;
    }

    /// The next draw, uniform over the 2^52 midpoints of equal parts of (0, 1); never 0 or 1.
    pub fn next_uniform(&mut self) -> f64 {
        uniform(self.next_bits())
    }

    fn next_bits(&mut self) -> u64 {
        let (number, lane) = (self.next / LANES as u64, self.next % LANES as u64);
        self.next = self.next.wrapping_add(1);
        if self.drawn.step != Some(number) {
            let follows = number % STEPS != 0 && self.drawn.step == Some(number - 1);
            if !follows {
                self.drawn.state = self.state_before(number);
            }
            let Drawn { bits, state, .. } = &mut self.drawn;
            step(state, |i, drawn| bits[i] = drawn);
            self.drawn.step = Some(number);
        }
        self.drawn.bits[lane as usize]
    }

    /// The states before a step.
    #[inline(always)]
    fn state_before(&self, number: u64) -> State {
        let first = (number / STEPS).wrapping_mul(2 * LANES as u64);
        let [a, b] = pairs(self.key, self.stream, first);
        let [c, d] = pairs(self.key, self.stream, first.wrapping_add(LANES as u64));
        let mut state = [a, b, c, d];
        for _ in 0..number % STEPS {
            step(&mut state, |_, _| {});
        }
        state
    }

    /// The draws of trials `start..start + column.len()`, as [`Stream::next_uniform`] gives them.
    pub fn fill(&self, set: InstructionSet, start: u64, column: &mut [f64]) {
        let (mut trial, mut rest) = (start, column);
        while !rest.is_empty() {
            let of_page = (PAGE - trial % PAGE).min(rest.len() as u64);
            let (now, later) = rest.split_at_mut(of_page as usize);
            self.fill_in_page(set, trial, now);
            trial = trial.wrapping_add(of_page);
            rest = later;
        }
    }

    /// The draws of trials `start..start + column.len()` from a distribution: the same for every
    /// trial, whichever others are drawn with it.
    pub fn draw(&self, set: InstructionSet, sampler: &Sampler, start: u64, column: &mut [f64]) {
        let together = sampler.drawn_together();
        let before = (start % together as u64) as usize;
        let whole = (before + column.len()).next_multiple_of(together);
        if whole == column.len() {
            self.fill(set, start, column);
            sampler.draws(set, column);
        } else {
            let mut draws = vec![0.0; whole];
            self.fill(set, start - before as u64, &mut draws);
            sampler.draws(set, &mut draws);
            column.copy_from_slice(&draws[before..][..column.len()]);
        }
    }

    // Not inlined: what is around it would take the registers of the loop.
    #[inline(never)]
    fn fill_in_page(&self, set: InstructionSet, start: u64, column: &mut [f64]) {
        set.run(
            #[inline(always)]
            || {
                let mut state = self.state_before(start / LANES as u64);
                let lead = start as usize % LANES;
                let shared = if lead > 0 { LANES - lead } else { 0 };
                let (head, rest) = column.split_at_mut(shared.min(column.len()));
                let mut draws = [0.0; LANES];
                if !head.is_empty() {
                    uniforms(&mut state, &mut draws);
                    head.copy_from_slice(&draws[lead..lead + head.len()]);
                }
                let (groups, last) = rest.as_chunks_mut();
                for group in groups {
                    uniforms(&mut state, group);
                }
                if !last.is_empty() {
                    uniforms(&mut state, &mut draws);
                    last.copy_from_slice(&draws[..last.len()]);
                }
            },
        );
    }
}

/// 64 bits as a number, uniform over the 2^52 midpoints of equal parts of (0, 1); never 0 or 1.
#[inline(always)]
pub(in crate::montecarlo) fn uniform(bits: u64) -> f64 {
    // the upper 52 bits as the fraction of a number from 1 to 2, exactly
    let above_one = f64::from_bits((bits >> 12) | 1.0_f64.to_bits());
    above_one - (1.0 - f64::EPSILON / 2.0)
}

/// Hands over the next bits of each generator.
#[inline(always)]
fn step(state: &mut State, mut take: impl FnMut(usize, u64)) {
    let [a, b, c, d] = state;
    for i in 0..LANES {
        take(i, next(&mut a[i], &mut b[i], &mut c[i], &mut d[i]));
    }
}

/// The draws of the next step.
#[inline(always)]
fn uniforms(state: &mut State, draws: &mut [f64; LANES]) {
    step(state, |i, bits| draws[i] = uniform(bits));
}

impl TryRng for Stream {
    type Error = Infallible;

    fn try_next_u32(&mut self) -> Result<u32, Infallible> {
        Ok((self.next_bits() >> 32) as u32)
    }
    fn try_next_u64(&mut self) -> Result<u64, Infallible> {
        Ok(self.next_bits())
    }
    fn try_fill_bytes(&mut self, bytes: &mut [u8]) -> Result<(), Infallible> {
        utils::fill_bytes_via_next_word(bytes, || self.try_next_u64())
    }
}

/// The 64-bit FNV-1a hash (G. Fowler, L. C. Noll, K.-P. Vo; RFC 9923), which turns a name into a
/// stream number the same way for ever.
pub(in crate::montecarlo) fn fnv1a(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}
