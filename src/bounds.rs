//! How much, how long and how large what somebody else wrote may be, and why. A file from elsewhere
//! must not take hours, all memory, or a screen full of its own text in an error, and no number of
//! it may lead beyond all numbers.

/// Magnitudes of numbers and of uncertainties other than 0: the squares of greater ones, or their
/// sums, are beyond all numbers, and those of smaller ones vanish.
pub(crate) const MAGNITUDES: [f64; 2] = [1e-100, 1e100];

/// Whether a number is finite and so are sums of its squares.
pub(crate) fn is_moderate(number: f64) -> bool {
    number.abs() <= MAGNITUDES[1]
}

/// Whether a standard uncertainty that is not 0 has a square that is neither lost nor infinite.
pub(crate) fn is_moderate_uncertainty(u: f64) -> bool {
    (MAGNITUDES[0]..=MAGNITUDES[1]).contains(&u)
}

/// Bytes of a quantity as text, such as `168.3 mm`. An exact decimal number has no more than some
/// forty digits that matter; the time to find where a number ends grows with the square.
pub(crate) const LONGEST_QUANTITY: usize = 200;

/// Bytes of a name that may be a slip of a known one: known names are shorter than half of it, and
/// comparing takes the product of both lengths.
pub(crate) const LONGEST_SLIP: usize = 100;

/// Points of a line with uncertainty in both coordinates: the matrix of their covariances has the square of
/// twice as many numbers, and each step takes the cube.
pub(crate) const MOST_POINTS_OF_LINE: usize = 1000;

/// Inputs of a model: the matrix of their correlations has the square of as many numbers.
pub(crate) const MOST_INPUTS: usize = 5000;

/// Bytes of a list of names that an error offers: more than the longest of our own, and less than a
/// screen.
pub(crate) const LONGEST_LIST: usize = 1500;

/// Bytes of a text that an error quotes: a line or two of a terminal, and more than the sentences that
/// are quoted elsewhere.
pub(crate) const LONGEST_QUOTE: usize = 200;
