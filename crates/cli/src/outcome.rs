//! How a command ended.

use std::process::ExitCode;

/// How a command ended, worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Outcome {
    /// Nothing is left to ask.
    Settled,
    /// Something should be asked first.
    ToAsk,
    /// Some input cannot be used; why was said.
    Unusable,
}

impl Outcome {
    /// The exit code that stands for it.
    pub(crate) fn code(self) -> ExitCode {
        ExitCode::from(match self {
            Self::Settled => 0,
            Self::ToAsk => 1,
            Self::Unusable => 2,
        })
    }
}

/// What a command answers: how it ended, or a message that says what is wrong and the way out.
pub(crate) type Answer = Result<Outcome, String>;
