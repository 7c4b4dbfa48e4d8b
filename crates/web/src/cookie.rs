//! The one cookie: who is signed in.

use axum::http::{HeaderMap, HeaderValue, header};
use store::Token;

const NAME: &str = "paneloft";

/// The session a request presents.
pub(crate) fn presented(headers: &HeaderMap) -> Option<Token> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(name, _)| *name == NAME)
        .map(|(_, value)| Token::presented(value))
}

/// Sets the session, out of reach of scripts and of other sites.
pub(crate) fn set(token: &Token, secure: bool) -> HeaderValue {
    let secure = if secure { "; Secure" } else { "" };
    let lasts = store::SESSION_LASTS.as_secs();
    let cookie = format!(
        "{NAME}={}; Path=/; HttpOnly; SameSite=Lax; Max-Age={lasts}{secure}",
        token.reveal()
    );
    HeaderValue::from_str(&cookie).expect("a token is hexadecimal")
}

/// Takes the session away.
pub(crate) fn clear() -> HeaderValue {
    HeaderValue::from_static("paneloft=; Path=/; HttpOnly; SameSite=Lax; Max-Age=0")
}
