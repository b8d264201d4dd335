//! The instruction set that blocks of numbers are evaluated with, chosen at run time.

use crate::error::{Error, Result};

/// The vector instructions for blocks of numbers. The results do not depend on them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum InstructionSet {
    /// What every processor of the target has: SSE2 on x86-64, NEON on AArch64.
    Baseline,
    /// AVX2, four numbers at once.
    Avx2,
    /// AVX-512, eight numbers at once.
    Avx512,
}

/// The environment variable by which an instruction set is forced.
pub const VARIABLE: &str = "FLOWDOUBT_INSTRUCTION_SET";

impl InstructionSet {
    const NAMES: [&'static str; 3] = ["baseline", "avx2", "avx512"];

    /// Those that this processor has, the widest last.
    pub fn available() -> Vec<InstructionSet> {
        let all = [Self::Baseline, Self::Avx2, Self::Avx512];
        all.into_iter().filter(|set| set.is_available()).collect()
    }

    /// The widest of this processor, or the one that `FLOWDOUBT_INSTRUCTION_SET` names:
    /// `baseline`, `avx2` or `avx512`.
    ///
    /// # Errors
    /// The variable names no instruction set, or one that this processor has not.
    pub fn chosen() -> Result<InstructionSet> {
        let Some(name) = std::env::var_os(VARIABLE) else {
            return Ok(Self::widest());
        };
        let name = name.to_string_lossy();
        let named = match name.as_ref() {
            "baseline" => Some(Self::Baseline),
            "avx2" => Some(Self::Avx2),
            "avx512" => Some(Self::Avx512),
            _ => None,
        };
        match named {
            Some(set) if set.is_available() => Ok(set),
            _ => {
                let count = Self::available().len();
                Err(Error::unknown_name(VARIABLE, &name, &Self::NAMES[..count]))
            }
        }
    }

    /// The widest of this processor.
    pub(crate) fn widest() -> InstructionSet {
        Self::available().pop().unwrap_or(Self::Baseline)
    }

    #[cfg(target_arch = "x86_64")]
    fn is_available(self) -> bool {
        match self {
            Self::Baseline => true,
            Self::Avx2 => pulp::x86::V3::is_available(),
            Self::Avx512 => pulp::x86::V4::is_available(),
        }
    }

    #[cfg(not(target_arch = "x86_64"))]
    fn is_available(self) -> bool {
        self == Self::Baseline
    }

    /// Runs `work`, compiled for this instruction set as far as it is inlined.
    #[inline(always)]
    pub(crate) fn run<R>(self, work: impl FnOnce() -> R) -> R {
        #[cfg(target_arch = "x86_64")]
        match self {
            Self::Avx512 => {
                if let Some(v4) = pulp::x86::V4::try_new() {
                    return v4.vectorize(work);
                }
            }
            Self::Avx2 => {
                if let Some(v3) = pulp::x86::V3::try_new() {
                    return v3.vectorize(work);
                }
            }
            Self::Baseline => {}
        }
        work()
    }
}
