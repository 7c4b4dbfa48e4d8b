//! The workshop app: pages and requests over the saved work.
//!
//! Pages are made on the server and work without script; three small modules make the readings desk
//! answer while somebody types, keep an owner's answers safe on a poor network, and show how far files are. Nothing is
//! fetched from elsewhere, and no page carries script or style of its own, which the content
//! security policy forbids.

mod app;
mod assets;
mod cookie;
mod error;
mod guard;
mod log;
mod making;
mod pages;
mod photo;
mod sheet_file;
#[cfg(test)]
mod tests;
mod throttle;
mod view;
mod worker;

use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::time::Duration;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use store::{Document, Store, StoreError, Workshop};
use thiserror::Error;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::TimeoutLayer;

use crate::app::App;

/// Most bytes of one request. Chosen by us: an order file with room to spare.
const MOST_BYTES: usize = 2_000_000;
/// Longest a request may take; a release works out every piece.
const LONGEST: Duration = Duration::from_secs(60);

/// Scripts, styles, pictures and fonts from here only, nothing inline, in nobody's frame.
const CONTENT_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src \
                              'self' data:; font-src 'self'; connect-src 'self'; form-action \
                              'self'; base-uri 'none'; frame-ancestors 'none'";

/// How the app is served.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Where the workshop's data lies.
    pub data: PathBuf,
    /// Where to listen.
    pub address: SocketAddr,
    /// Whether people reach it by HTTPS (through a proxy), so that cookies stay off plain HTTP.
    pub secure: bool,
    /// Whether an empty data folder is filled with the demo's orders.
    pub demo: bool,
}

/// Why the app cannot be served.
#[derive(Debug, Error)]
pub enum ServeError {
    /// The saved work cannot be used.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The address cannot be listened at.
    #[error("cannot listen at {address}: {error}; choose another with --port")]
    Listen {
        /// The address.
        address: SocketAddr,
        /// Why.
        error: std::io::Error,
    },
    /// The connection to the network broke.
    #[error("serving stopped: {0}")]
    Broke(std::io::Error),
}

/// Serves the app until `stop` is done; `ready` learns the address, which the system chooses for
/// port 0. Requests under way are finished first.
///
/// # Errors
/// When the data folder cannot be used or the address is taken.
pub async fn serve(
    settings: Settings,
    ready: impl FnOnce(SocketAddr),
    stop: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServeError> {
    let store = Store::open(&settings.data).await?;
    store.verify().await?;
    if settings.demo && store.workshop().await?.is_none() {
        fill_with_demo(&store).await?;
    }
    let address = settings.address;
    let listener = tokio::net::TcpListener::bind(address)
        .await
        .map_err(|error| ServeError::Listen { address, error })?;
    ready(listener.local_addr().map_err(ServeError::Broke)?);
    let app = App::new(store.clone(), settings.secure);
    let (stopping, stopped) = tokio::sync::watch::channel(false);
    let worker = tokio::spawn(worker::work(app.clone(), stopped));
    let served = axum::serve(listener, router(app).into_make_service())
        .with_graceful_shutdown(stop)
        .await
        .map_err(ServeError::Broke);
    // The worker puts back what it has in hand; whatever becomes of it, the task stays saved.
    let _ = stopping.send(true);
    let _ = worker.await;
    served?;
    store.close().await;
    Ok(())
}

/// Every page and request, with what protects them.
fn router(app: App) -> Router {
    let fixed = |name: &'static str, value: &'static str| {
        SetResponseHeaderLayer::if_not_present(
            HeaderName::from_static(name),
            HeaderValue::from_static(value),
        )
    };
    // Axum's own limit would come before ours.
    let limited = |routes: Router<App>, most: usize| {
        routes.layer(DefaultBodyLimit::disable()).layer(RequestBodyLimitLayer::new(most))
    };
    limited(pages::routes(), MOST_BYTES)
        .merge(limited(pages::routes_for_photos(), photo::MOST_BYTES + MOST_BYTES))
        .with_state(app)
        .layer(axum::middleware::from_fn(log::requests))
        .layer(CatchPanicLayer::new())
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, LONGEST))
        .layer(CsrfLayer::new())
        .layer(CompressionLayer::new())
        .layer(SetResponseHeaderLayer::if_not_present(
            header::CACHE_CONTROL,
            HeaderValue::from_static("no-store"),
        ))
        .layer(fixed("content-security-policy", CONTENT_POLICY))
        .layer(fixed("x-content-type-options", "nosniff"))
        .layer(fixed("referrer-policy", "no-referrer"))
        .layer(fixed("cross-origin-opener-policy", "same-origin"))
        .layer(fixed("permissions-policy", "camera=(self), geolocation=(), microphone=()"))
}

/// Name and password of the demo's account. It is printed where the demo starts: invented data only.
pub const DEMO_ACCOUNT: (&str, &str) = ("Robin", "marsh lane loft");

/// Fills an empty store with the demo's workshop, glass book and orders.
///
/// # Errors
/// When the store cannot be written.
pub async fn fill_with_demo(store: &Store) -> Result<(), StoreError> {
    let workshop = Workshop {
        name: "Marsh Lane Loft".to_owned(),
        unit: survey::Unit::Millimetre,
        book: shop::demo::GLASS_BOOK.1.to_owned(),
    };
    let (name, password) = DEMO_ACCOUNT;
    store.set_up(&workshop, name, password).await?;
    for (file, text) in shop::demo::ORDERS {
        let document = Document::read(text.as_bytes(), file)?;
        store.add_order(&document, None, "demo", "came with the demo").await?;
    }
    Ok(())
}

/// Opens the store of a data folder, for commands that keep it.
///
/// # Errors
/// When it cannot be used.
pub async fn open(folder: &Path) -> Result<Store, StoreError> {
    Store::open(folder).await
}
