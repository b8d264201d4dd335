//! Errors of others, kept as the source of one of ours.

use std::error::Error;
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

/// Somebody else's error: the system's, or a measurement model's own. It is what
/// [`source`](Error::source) of an [error](crate::Error) gives, and can be downcast to its own type there.
///
/// Two causes are equal where they say the same.
#[derive(Clone)]
pub struct Cause(Arc<dyn Error + Send + Sync>);

impl Cause {
    /// Keeps an error, or text in place of one.
    pub fn new(error: impl Into<Box<dyn Error + Send + Sync>>) -> Cause {
        Cause(Arc::from(error.into()))
    }
}

// no error itself, so that the one it keeps is the source
impl Deref for Cause {
    type Target = dyn Error + Send + Sync;

    fn deref(&self) -> &Self::Target {
        &*self.0
    }
}

impl fmt::Debug for Cause {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl PartialEq for Cause {
    fn eq(&self, other: &Cause) -> bool {
        self.to_string() == other.to_string()
    }
}
