//! The lines of a file, for errors.

/// Where the lines of a text end: found once, since a file may have as many entries as lines.
pub(crate) struct Lines(Vec<usize>);

impl Lines {
    pub(crate) fn of(text: &str) -> Lines {
        Lines(text.match_indices('\n').map(|(end, _)| end).collect())
    }

    /// The line, counted from 1, in which the byte at `offset` stands.
    pub(crate) fn at(&self, offset: usize) -> usize {
        1 + self.0.partition_point(|end| *end < offset)
    }
}

/// The line, counted from 1, in which the byte at `offset` stands. For many of a text see [`Lines`].
pub(crate) fn line_of(text: &str, offset: usize) -> usize {
    Lines::of(text).at(offset)
}
