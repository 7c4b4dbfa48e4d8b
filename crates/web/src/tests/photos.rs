//! Photos from owners and the workshop.

use std::io::Cursor;

use axum::http::StatusCode;
use image::{DynamicImage, ImageFormat};

use super::Visitor;

fn png() -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    DynamicImage::new_rgb8(30, 20).write_to(&mut bytes, ImageFormat::Png).expect("encoded");
    bytes.into_inner()
}

#[tokio::test]
async fn an_owner_s_photo_reaches_the_order_and_no_stranger() {
    let visitor = Visitor::keeper().await;
    let link = visitor.link(1, "all").await;
    let sent = visitor.post_file(&format!("/w/{link}/photos/new"), "photo", "a.png", &png()).await;
    assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text());
    let page = visitor.get(&format!("/w/{link}/photos")).await.text();
    assert!(page.contains("One photo has reached the workshop"), "{page}");
    let photo = visitor.store.photos(1).await.expect("read")[0].id;
    let picture = visitor.get(&format!("/orders/1/photos/{photo}")).await;
    assert_eq!(picture.headers["content-type"], "image/jpeg");
    assert!(picture.body.starts_with(b"\xff\xd8"), "a JPEG, whatever was sent");
    let other = visitor.get(&format!("/orders/2/photos/{photo}")).await;
    assert_eq!(other.status, StatusCode::NOT_FOUND);
    assert!(visitor.get("/orders/1").await.text().contains("Photo without words"));
    let stranger = Visitor { cookie: None, ..visitor };
    let picture = stranger.get(&format!("/orders/1/photos/{photo}")).await;
    assert_eq!(picture.to.as_deref(), Some("/sign-in"));
}

#[tokio::test]
async fn lying_and_oversize_photos_are_refused_and_nothing_kept() {
    let visitor = Visitor::keeper().await;
    let link = visitor.link(1, "all").await;
    let page = b"<html><script>alert(1)</script></html>".to_vec();
    let vast = vec![0_u8; crate::photo::MOST_BYTES + 10];
    for bytes in [page, vast, Vec::new()] {
        for address in ["/orders/1/photos".to_owned(), format!("/w/{link}/photos/new")] {
            let reply = visitor.post_file(&address, "photo", "a.jpg", &bytes).await;
            assert_eq!(reply.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", reply.text());
        }
    }
    let beyond = vec![0_u8; crate::photo::MOST_BYTES + 3_000_000];
    let reply = visitor.post_file("/orders/1/photos", "photo", "a.jpg", &beyond).await;
    assert!(
        matches!(reply.status, StatusCode::UNPROCESSABLE_ENTITY | StatusCode::PAYLOAD_TOO_LARGE),
        "{}",
        reply.status
    );
    assert!(visitor.store.photos(1).await.expect("read").is_empty());
}
