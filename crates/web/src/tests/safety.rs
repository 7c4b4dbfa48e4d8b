//! What strangers, other owners and nosy colleagues try.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

use super::Visitor;

#[tokio::test]
async fn every_answer_carries_the_headers_that_keep_it_safe() {
    let visitor = Visitor::keeper().await;
    for page in
        ["/", "/orders/1", "/sign-in", "/nothing", "/assets/app.css", "/orders/1/order.toml"]
    {
        let headers = visitor.get(page).await.headers;
        let policy = headers["content-security-policy"].to_str().expect("text");
        assert!(policy.contains("default-src 'none'") && policy.contains("script-src 'self';"));
        assert!(policy.contains("frame-ancestors 'none'") && !policy.contains("unsafe"));
        assert_eq!(headers["x-content-type-options"], "nosniff", "{page}");
        assert_eq!(headers["referrer-policy"], "no-referrer", "{page}");
    }
    assert_eq!(visitor.get("/orders/1").await.headers["cache-control"], "no-store");
}

#[tokio::test]
async fn no_page_has_script_or_style_of_its_own() {
    let visitor = Visitor::keeper().await;
    let link = visitor.link(1, "all").await;
    let mut pages = vec!["/".to_owned(), "/orders/new".to_owned(), "/workshop".to_owned()];
    for page in ["", "/readings/0", "/questions", "/pieces", "/history", "/table"] {
        pages.push(format!("/orders/1{page}"));
    }
    pages.extend(["", "/1", "/photos", "/16"].map(|step| format!("/w/{link}{step}")));
    for page in pages {
        let reply = visitor.get(&page).await;
        assert_eq!(reply.status, StatusCode::OK, "{page}");
        let text = reply.text();
        for inline in ["<style", " style=", "<script>", " onclick=", " onload=", "javascript:"] {
            assert!(!text.contains(inline), "{page} has {inline}");
        }
    }
}

#[tokio::test]
async fn a_link_opens_its_own_order_and_nothing_else() {
    let visitor = Visitor::keeper().await;
    let link = visitor.link(1, "all").await;
    let owner = Visitor { cookie: None, ..visitor };
    let start = owner.get(&format!("/w/{link}")).await.text();
    let other = owner.store.order(2).await.expect("there").row;
    assert!(!start.contains(&other.owner) && !start.contains(&other.reference));
    // The link is no session, and its order's number is of no use to who has it.
    let request = Request::get("/orders/1").header(header::COOKIE, format!("paneloft={link}"));
    assert_eq!(owner.send(request, Body::empty()).await.to.as_deref(), Some("/sign-in"));
    for page in ["/orders/1", "/orders/2", "/orders/2/order.toml", "/workshop/everything.zip"] {
        assert_eq!(owner.get(page).await.to.as_deref(), Some("/sign-in"), "{page}");
    }
    let near = format!("{}{}", &link[..63], if link.ends_with('0') { '1' } else { '0' });
    assert_eq!(owner.get(&format!("/w/{near}")).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_session_somebody_else_chose_is_not_taken_over() {
    let mut visitor = Visitor::stranger().await;
    let chosen = format!("paneloft={}", "ab".repeat(32));
    visitor.cookie = Some(chosen.clone());
    let (name, password) = crate::DEMO_ACCOUNT;
    let reply = visitor.post("/sign-in", &[("name", name), ("password", password)]).await;
    let given = reply.cookie.expect("a session of our own");
    assert!(
        !given.starts_with(&chosen) && given.contains("HttpOnly") && given.contains("SameSite")
    );
    assert_eq!(
        visitor.get("/").await.to.as_deref(),
        Some("/sign-in"),
        "the chosen one opens nothing"
    );
}

#[tokio::test]
async fn a_session_ends_when_it_is_signed_out() {
    let visitor = Visitor::keeper().await;
    assert_eq!(visitor.get("/").await.status, StatusCode::OK);
    visitor.post("/sign-out", &[]).await;
    assert_eq!(visitor.get("/").await.to.as_deref(), Some("/sign-in"));
}

#[tokio::test]
async fn passwords_are_not_guessed_by_trying() {
    let mut visitor = Visitor::stranger().await;
    let (name, password) = crate::DEMO_ACCOUNT;
    let mut refused = 0;
    for n in 0..10 {
        let guess = format!("guess number {n}");
        let reply = visitor.post("/sign-in", &[("name", name), ("password", &guess)]).await;
        match reply.status {
            StatusCode::TOO_MANY_REQUESTS => {
                assert!(reply.headers.contains_key(header::RETRY_AFTER));
                refused += 1;
            }
            status => assert_eq!(status, StatusCode::UNAUTHORIZED),
        }
    }
    assert_eq!(refused, 4);
    let right = visitor.post("/sign-in", &[("name", name), ("password", password)]).await;
    assert_eq!(right.status, StatusCode::TOO_MANY_REQUESTS, "the right one has to wait as well");
    visitor
        .store
        .add_account("Kit", store::Role::Bench, "a bench and a needle")
        .await
        .expect("made");
    visitor.sign_in("Kit", "a bench and a needle").await;
}

#[tokio::test]
async fn what_is_typed_is_never_sql_nor_a_path() {
    let visitor = Visitor::keeper().await;
    for text in ["' OR 1=1 --", "\"; DROP TABLE job_order; --", "%", "_", "\\", "\u{0}"] {
        let reply = visitor.get(&format!("/?{}", super::form(&[("q", text)]))).await;
        assert_eq!(reply.status, StatusCode::OK, "{text}");
        assert!(reply.text().contains("No order has all those words"), "{text}");
    }
    assert_eq!(visitor.store.orders("").await.expect("read").len(), 3);
    for path in [
        "/assets/..%2f..%2fCargo.toml",
        "/assets/%2e%2e/app.css",
        "/orders/1/releases/1/..%2ffiles.zip",
        "/orders/1%27/pieces",
        "/w/..%2f..%2fetc%2fpasswd",
    ] {
        let status = visitor.get(path).await.status;
        assert!(
            matches!(status, StatusCode::NOT_FOUND | StatusCode::BAD_REQUEST),
            "{path}: {status}"
        );
    }
}

#[tokio::test]
async fn a_request_too_large_is_refused() {
    let visitor = Visitor::keeper().await;
    let words = "x".repeat(3_000_000);
    let reply = visitor.post("/orders/1/note", &[("words", &words)]).await;
    assert_eq!(reply.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(visitor.store.notes(1).await.expect("read").is_empty());
}

#[tokio::test]
async fn names_of_orders_cannot_break_a_download_s_header() {
    let visitor = Visitor::keeper().await;
    let text = shop::demo::ORDERS[0].1.replace("H-0142", "a\\\"; filename=b ⁄ ../c");
    let taken = visitor.post("/orders/new/file", &[("text", &text)]).await;
    assert_eq!(taken.status, StatusCode::SEE_OTHER, "{}", taken.text());
    let to = taken.to.expect("its page");
    let reply = visitor.get(&format!("{to}/order.json")).await;
    assert_eq!(reply.status, StatusCode::OK);
    let named = reply.headers["content-disposition"].to_str().expect("ASCII").to_owned();
    assert_eq!(named.matches('"').count(), 2, "{named}");
    assert!(!named.contains('/'), "{named}");
    // What would end the header's line never becomes a reference at all.
    let text = shop::demo::ORDERS[0].1.replace("H-0142", "a\\r\\nset-cookie: b");
    let refused = visitor.post("/orders/new/file", &[("text", &text)]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
}

/// Anything at all is answered, and never with a fault of ours.
#[test]
fn no_request_is_answered_with_a_fault() {
    let runtime = tokio::runtime::Runtime::new().expect("threads");
    let visitor = runtime.block_on(Visitor::keeper());
    let link = runtime.block_on(visitor.link(1, "all"));
    let pages = prop::sample::select(vec![
        "/",
        "/start",
        "/sign-in",
        "/orders/new",
        "/orders/new/file",
        "/orders/1",
        "/orders/1/note",
        "/orders/1/stage",
        "/orders/1/readings/0",
        "/orders/1/readings/0/try",
        "/orders/1/questions",
        "/orders/1/history",
        "/orders/1/release",
        "/orders/1/photos",
        "/orders/1/table",
        "/orders/1/table/file",
        "/workshop/account",
        "/workshop/book",
        "/w/LINK/1",
        "/w/LINK/photos/new",
        "/orders/1/releases/1/files",
        "/orders/9223372036854775807",
        "/orders/-1/readings/-1",
    ]);
    let key = prop::sample::select(vec![
        "words",
        "q",
        "to",
        "revision",
        "because",
        "what",
        "stage",
        "name",
        "role",
        "book",
        "text",
        "table",
        "column-0",
        "outside.height.left",
        "outside.width.base",
        "due",
        "year",
        "family",
    ]);
    let value =
        prop_oneof!["\\PC{0,40}", "[0-9 /.,'\"-]{0,12}", ".{0,20}", Just("1e999".to_owned())];
    let fields = prop::collection::vec((key, value), 0..6);
    let kind = prop::sample::select(vec![
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=edge",
        "multipart/form-data",
        "text/plain",
    ]);
    let junk = prop::option::of(prop::collection::vec(any::<u8>(), 0..80));
    let mut runner = TestRunner::new(ProptestConfig { cases: 400, ..ProptestConfig::default() });
    let asked = (pages, fields, kind, junk, any::<bool>());
    runner
        .run(&asked, |(page, fields, kind, junk, get)| {
            let page = page.replace("LINK", &link);
            let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (*k, v.as_str())).collect();
            let body = junk.unwrap_or_else(|| super::form(&fields).into_bytes());
            let reply = runtime.block_on(async {
                match get {
                    true => visitor.get(&format!("{page}?{}", super::form(&fields))).await,
                    false => {
                        let request = Request::post(&page).header(header::CONTENT_TYPE, kind);
                        visitor.send(request, body).await
                    }
                }
            });
            prop_assert!(!reply.status.is_server_error(), "{page}: {}", reply.status);
            Ok(())
        })
        .expect("no fault");
}
