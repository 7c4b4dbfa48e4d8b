//! Style, script and font, all within the binary.

use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use crate::error::Oops;

/// Name, media type and bytes of each.
const ASSETS: [(&str, &str, &[u8]); 6] = [
    ("app.css", "text/css; charset=utf-8", include_bytes!("../assets/app.css")),
    ("desk.js", "text/javascript; charset=utf-8", include_bytes!("../assets/desk.js")),
    ("work.js", "text/javascript; charset=utf-8", include_bytes!("../assets/work.js")),
    ("walk.js", "text/javascript; charset=utf-8", include_bytes!("../assets/walk.js")),
    ("atkinson.woff2", "font/woff2", include_bytes!("../assets/atkinson.woff2")),
    ("mark.svg", "image/svg+xml", include_bytes!("../assets/mark.svg")),
];

/// One of them.
pub(crate) async fn asset(Path(name): Path<String>) -> Result<Response, Oops> {
    let found = ASSETS.iter().find(|(asset, ..)| *asset == name);
    let &(_, media, bytes) = found.ok_or(Oops::Nowhere)?;
    // An hour: a new version of the program is seen the same day.
    let headers = [(header::CONTENT_TYPE, media), (header::CACHE_CONTROL, "max-age=3600")];
    Ok((headers, bytes).into_response())
}
