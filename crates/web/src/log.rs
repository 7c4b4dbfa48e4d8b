//! What the app did, a line each, for whoever keeps the machine it runs on.
//!
//! A line holds the method, the address as the program knows it (`/w/{token}`, never the token itself),
//! the status and how long it took: nothing that anybody typed, and no secret.

use std::time::Instant;

use axum::extract::{MatchedPath, Request};
use axum::middleware::Next;
use axum::response::Response;

/// Writes a line for each request.
pub(crate) async fn requests(request: Request, next: Next) -> Response {
    let from = Instant::now();
    let method = request.method().clone();
    let route = request.extensions().get::<MatchedPath>().cloned();
    let response = next.run(request).await;
    let route = route.as_ref().map_or("nowhere", MatchedPath::as_str);
    let status = response.status().as_u16();
    let ms = from.elapsed().as_secs_f64() * 1000.0;
    match response.status().is_server_error() {
        true => tracing::error!(%method, route, status, ms, "request"),
        false => tracing::info!(%method, route, status, ms, "request"),
    }
    response
}
