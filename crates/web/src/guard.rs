//! Who is asking, and may they?

use axum::extract::FromRequestParts;
use axum::http::Method;
use axum::http::request::Parts;
use axum::response::{IntoResponse, Redirect, Response};
use store::{Account, Workshop};

use crate::app::App;
use crate::cookie;
use crate::error::Oops;

/// Somebody signed in, with their workshop.
pub(crate) struct Someone {
    pub(crate) account: Account,
    pub(crate) workshop: Workshop,
}

/// Why a request goes no further: a page to go to first, or a refusal.
pub(crate) enum Halt {
    To(&'static str),
    Oops(Oops),
}

impl IntoResponse for Halt {
    fn into_response(self) -> Response {
        match self {
            Self::To(page) => Redirect::to(page).into_response(),
            Self::Oops(oops) => oops.into_response(),
        }
    }
}

impl From<store::StoreError> for Halt {
    fn from(error: store::StoreError) -> Self {
        Self::Oops(error.into())
    }
}

impl FromRequestParts<App> for Someone {
    type Rejection = Halt;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Halt> {
        let Some(workshop) = app.store.workshop().await? else { return Err(Halt::To("/start")) };
        let Some(token) = cookie::presented(&parts.headers) else {
            return Err(Halt::To("/sign-in"));
        };
        let Some(account) = app.store.signed_in(&token).await? else {
            return Err(Halt::To("/sign-in"));
        };
        Ok(Self { account, workshop })
    }
}

/// Somebody who may settle readings and release; anybody signed in may look.
pub(crate) struct Settler(pub(crate) Someone);

impl FromRequestParts<App> for Settler {
    type Rejection = Halt;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Halt> {
        let someone = Someone::from_request_parts(parts, app).await?;
        let looks = matches!(parts.method, Method::GET | Method::HEAD);
        match looks || someone.account.role.may_settle() {
            true => Ok(Self(someone)),
            false => Err(Halt::Oops(Oops::NotYours)),
        }
    }
}
