//! What a person reads when a request cannot be done.

use askama::Template;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use shop::FileFault;
use store::StoreError;
use thiserror::Error;

/// Why a request cannot be done. Nothing was changed.
#[derive(Debug, Error)]
pub(crate) enum Oops {
    /// The saved work said no.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// What was entered cannot be used.
    #[error("{0}")]
    Entered(String),
    /// Nothing is there.
    #[error("there is nothing at this address; it may have been moved or mistyped")]
    Nowhere,
    /// This account may not.
    #[error("your account may not do this; ask the person who keeps the workshop's accounts")]
    NotYours,
    /// Too many tries.
    #[error("that was tried too often; wait {seconds} s and try again")]
    TooOften {
        /// How long to wait.
        seconds: u64,
    },
    /// The work was stopped before its end.
    #[error("the work was stopped before its end")]
    Stopped,
    /// An owner's link that no longer works.
    #[error("this link no longer works; please ask the workshop for a new one")]
    DeadLink,
    /// A fault of this program.
    #[error("something went wrong here that is not your doing; what was saved is safe")]
    Broken,
}

impl From<FileFault> for Oops {
    fn from(fault: FileFault) -> Self {
        Self::Store(fault.into())
    }
}

impl From<askama::Error> for Oops {
    fn from(_: askama::Error) -> Self {
        Self::Broken
    }
}

impl Oops {
    pub(crate) fn status(&self) -> StatusCode {
        match self {
            Self::Store(StoreError::Missing(_)) | Self::Nowhere | Self::DeadLink => {
                StatusCode::NOT_FOUND
            }
            Self::Store(
                StoreError::Database(_)
                | StoreError::Folder(_)
                | StoreError::Damaged(_)
                | StoreError::Password(_)
                | StoreError::TooNew { .. },
            )
            | Self::Broken
            | Self::Stopped => StatusCode::SERVICE_UNAVAILABLE,
            Self::Store(_) | Self::Entered(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::NotYours => StatusCode::FORBIDDEN,
            Self::TooOften { .. } => StatusCode::TOO_MANY_REQUESTS,
        }
    }
}

#[derive(Template)]
#[template(path = "message.html")]
struct Message<'a> {
    title: &'a str,
    words: String,
}

impl IntoResponse for Oops {
    fn into_response(self) -> Response {
        let title = match self {
            Self::Nowhere | Self::DeadLink => "Nothing here",
            _ => "That did not work",
        };
        // What the database says is for the log of the server, not for a visitor.
        let words = match &self {
            Self::Store(StoreError::Database(_)) => {
                "the workshop's database could not be used just now; nothing was changed. Is the disk \
                 full?"
                    .to_owned()
            }
            other => other.to_string(),
        };
        let page = Message { title, words }.render().unwrap_or_default();
        let mut response = (self.status(), Html(page)).into_response();
        if let Self::TooOften { seconds } = self {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        response
    }
}
