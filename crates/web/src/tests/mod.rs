//! Requests and what comes back, without a network.

mod photos;
mod safety;
mod tables;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use http_body_util::BodyExt;
use store::{Role, Store};
use tempfile::TempDir;
use tower::ServiceExt;

use crate::app::App;
use crate::{DEMO_ACCOUNT, fill_with_demo, router};

struct Visitor {
    _folder: TempDir,
    store: Store,
    app: App,
    router: Router,
    cookie: Option<String>,
}

struct Reply {
    status: StatusCode,
    to: Option<String>,
    cookie: Option<String>,
    headers: axum::http::HeaderMap,
    body: Vec<u8>,
}

impl Reply {
    fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

/// Percent-encodes everything but letters and digits.
fn form(fields: &[(&str, &str)]) -> String {
    let encoded = |text: &str| -> String {
        text.bytes()
            .map(|b| match b.is_ascii_alphanumeric() {
                true => char::from(b).to_string(),
                false => format!("%{b:02X}"),
            })
            .collect()
    };
    let pairs: Vec<_> =
        fields.iter().map(|(k, v)| format!("{}={}", encoded(k), encoded(v))).collect();
    pairs.join("&")
}

impl Visitor {
    async fn stranger() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path()).await.expect("a database");
        fill_with_demo(&store).await.expect("filled");
        let app = App::new(store.clone(), false);
        let router = router(app.clone());
        Self { _folder: folder, store, app, router, cookie: None }
    }

    async fn keeper() -> Self {
        let mut visitor = Self::stranger().await;
        visitor.sign_in(DEMO_ACCOUNT.0, DEMO_ACCOUNT.1).await;
        visitor
    }

    async fn sign_in(&mut self, name: &str, password: &str) {
        let reply = self.post("/sign-in", &[("name", name), ("password", password)]).await;
        assert_eq!(reply.status, StatusCode::SEE_OTHER);
        let cookie = reply.cookie.expect("a session");
        self.cookie = cookie.split(';').next().map(str::to_owned);
    }

    async fn send(&self, request: axum::http::request::Builder, body: impl Into<Body>) -> Reply {
        let request = match &self.cookie {
            Some(cookie) => request.header(header::COOKIE, cookie),
            None => request,
        };
        let request = request.body(body.into()).expect("a request");
        let response = self.router.clone().oneshot(request).await.expect("an answer");
        let said =
            |name| response.headers().get(name).and_then(|v| v.to_str().ok()).map(str::to_owned);
        let (to, cookie) = (said(header::LOCATION), said(header::SET_COOKIE));
        let (status, headers) = (response.status(), response.headers().clone());
        let body = response.into_body().collect().await.expect("a body").to_bytes().to_vec();
        Reply { status, to, cookie, headers, body }
    }

    async fn get(&self, address: &str) -> Reply {
        self.send(Request::get(address), Body::empty()).await
    }

    /// Posts a form with a file, as browsers do (RFC 7578).
    async fn post_file(&self, address: &str, field: &str, name: &str, bytes: &[u8]) -> Reply {
        let mut body = format!(
            "--edge\r\ncontent-disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\ncontent-type: \
             application/octet-stream\r\n\r\n"
        )
        .into_bytes();
        body.extend(bytes);
        body.extend(b"\r\n--edge--\r\n");
        let request = Request::post(address)
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=edge");
        self.send(request, body).await
    }

    /// The owner's link of an order, without what stands before it.
    async fn link(&self, order: i64, what: &str) -> String {
        let page = self.post(&format!("/orders/{order}/questions"), &[("what", what)]).await.text();
        page.split("/w/").nth(1).expect("a link")[..64].to_owned()
    }

    /// Lets a worker do what there is to do, until the release's files are made or given up.
    async fn wait_for_files(&self, order: i64, number: i64) -> store::TaskState {
        let (stop, stopped) = tokio::sync::watch::channel(false);
        let worker = tokio::spawn(crate::worker::work(self.app.clone(), stopped));
        let state = loop {
            let task = self.store.task(order, number).await.expect("read").expect("asked for");
            if task.state.is_over() {
                break task.state;
            }
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        };
        stop.send(true).expect("the worker listens");
        worker.await.expect("ends");
        state
    }

    async fn post(&self, address: &str, fields: &[(&str, &str)]) -> Reply {
        let request = Request::post(address)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.send(request, form(fields)).await
    }
}

#[tokio::test]
async fn a_stranger_sees_no_order() {
    let visitor = Visitor::stranger().await;
    for page in ["/", "/orders/1", "/orders/1/readings/0", "/orders/1/pieces", "/orders/new"] {
        let reply = visitor.get(page).await;
        assert_eq!((reply.status, reply.to.as_deref()), (StatusCode::SEE_OTHER, Some("/sign-in")));
    }
    let reply = visitor.post("/orders/1/readings/0", &[("outside.height.right", "1")]).await;
    assert_eq!(reply.to.as_deref(), Some("/sign-in"));
}

#[tokio::test]
async fn every_page_of_the_demo_opens() {
    let visitor = Visitor::keeper().await;
    for order in 1..=3 {
        for page in ["", "/readings/0", "/questions", "/pieces", "/history"] {
            let reply = visitor.get(&format!("/orders/{order}{page}")).await;
            assert_eq!(reply.status, StatusCode::OK, "{order}{page}: {}", reply.text());
        }
    }
    for page in ["/", "/?q=corvane", "/orders/new", "/health", "/workshop", "/assets/app.css"] {
        assert_eq!(visitor.get(page).await.status, StatusCode::OK, "{page}");
    }
    for page in ["/orders/99", "/orders/1/readings/9", "/assets/../Cargo.toml", "/nothing"] {
        assert_eq!(visitor.get(page).await.status, StatusCode::NOT_FOUND, "{page}");
    }
}

#[tokio::test]
async fn a_reading_is_tried_without_being_saved_and_saved_when_told() {
    let visitor = Visitor::keeper().await;
    let fields = [("outside.height.right", "53 1/8"), ("because", "an inch was misread")];
    let tried = visitor.post("/orders/1/readings/0/try", &fields[..1]).await;
    assert_eq!(tried.status, StatusCode::OK);
    assert!(!tried.text().contains("in doubt") && !tried.text().contains("looks one inch"));
    assert_eq!(visitor.store.order(1).await.expect("there").row.revision, 1);
    let saved = visitor.post("/orders/1/readings/0", &fields).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER);
    let history = visitor.get("/orders/1/history").await.text();
    assert!(
        history.contains("54 1/8 corrected to 53 1/8, because an inch was misread"),
        "{history}"
    );
}

#[tokio::test]
async fn words_that_are_no_length_are_told_and_not_saved() {
    let visitor = Visitor::keeper().await;
    let reply = visitor.post("/orders/1/readings/0", &[("outside.height.right", "about so")]).await;
    assert_eq!(reply.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(visitor.store.order(1).await.expect("there").row.revision, 1);
}

#[tokio::test]
async fn another_site_cannot_make_a_browser_change_anything() {
    let visitor = Visitor::keeper().await;
    let request = Request::post("/orders/1/note")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header("sec-fetch-site", "cross-site")
        .header(header::ORIGIN, "https://elsewhere.example");
    let reply = visitor.send(request, form(&[("words", "from elsewhere")])).await;
    assert_eq!(reply.status, StatusCode::FORBIDDEN);
    assert!(visitor.store.notes(1).await.expect("read").is_empty());
}

#[tokio::test]
async fn what_people_write_never_becomes_markup() {
    let visitor = Visitor::keeper().await;
    let nasty = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>";
    visitor.post("/orders/1/note", &[("words", nasty)]).await;
    let page = visitor.get("/orders/1").await.text();
    assert!(!page.contains("<script>alert") && !page.contains("<img src=x"), "{page}");
    let search = visitor.get(&format!("/?{}", form(&[("q", nasty)]))).await.text();
    assert!(!search.contains("<script>alert"), "{search}");
}

#[tokio::test]
async fn a_bench_looks_but_does_not_settle() {
    let mut visitor = Visitor::stranger().await;
    visitor.store.add_account("Kit", Role::Bench, "a bench and a needle").await.expect("made");
    visitor.sign_in("Kit", "a bench and a needle").await;
    assert_eq!(visitor.get("/orders/1/readings/0").await.status, StatusCode::OK);
    let reply = visitor.post("/orders/1/readings/0", &[("outside.height.right", "53 1/8")]).await;
    assert_eq!(reply.status, StatusCode::FORBIDDEN);
    let reply = visitor.post("/orders/3/release", &[("revision", "1")]).await;
    assert_eq!(reply.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn only_a_keeper_changes_accounts_and_the_glass_book() {
    let mut visitor = Visitor::keeper().await;
    let kit = [("name", "Kit"), ("role", "desk"), ("password", "a desk and a pencil")];
    assert_eq!(visitor.post("/workshop/account", &kit).await.status, StatusCode::SEE_OTHER);
    let broken = visitor.post("/workshop/book", &[("book", "[[pane]]\nmake = 3")]).await;
    assert_eq!(broken.status, StatusCode::UNPROCESSABLE_ENTITY);
    let book = visitor.store.workshop().await.expect("read").expect("set up").book;
    assert_eq!(book, shop::demo::GLASS_BOOK.1);
    assert_eq!(visitor.get("/workshop").await.status, StatusCode::OK);
    visitor.sign_in("Kit", "a desk and a pencil").await;
    assert_eq!(visitor.get("/workshop").await.status, StatusCode::FORBIDDEN);
    let book = visitor.post("/workshop/book", &[("book", "")]).await;
    assert_eq!(book.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn an_order_leaves_as_the_file_it_came_as() {
    let visitor = Visitor::keeper().await;
    let file = visitor.get("/orders/1/order.toml").await;
    assert_eq!(file.status, StatusCode::OK);
    let taken = shop::read_order(&file.body, "order.toml").expect("an order file");
    let sent = shop::read_order(shop::demo::ORDERS[0].1.as_bytes(), "order.toml").expect("one");
    assert_eq!(taken, sent);
}

#[tokio::test]
async fn a_settled_order_is_released_and_downloaded_whole() {
    let visitor = Visitor::keeper().await;
    let reply = visitor.post("/orders/3/release", &[("revision", "1")]).await;
    assert_eq!(reply.status, StatusCode::SEE_OTHER, "{}", reply.text());
    let early = visitor.get("/orders/3/releases/1/files.zip").await;
    assert_eq!(early.to.as_deref(), Some("/orders/3/pieces#release-1"), "not made yet");
    assert_eq!(visitor.wait_for_files(3, 1).await, store::TaskState::Done);
    let reply = visitor.get("/orders/3/releases/1/files.zip").await;
    assert_eq!(reply.status, StatusCode::OK);
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(reply.body)).expect("a ZIP");
    let names: Vec<String> =
        (0..zip.len()).map(|i| zip.by_index(i).expect("a file").name().to_owned()).collect();
    for ending in ["dxf", "svg", "pdf", "toml", "json"] {
        assert!(names.iter().any(|name| name.ends_with(ending)), "no {ending} in {names:?}");
    }
}

#[tokio::test]
async fn what_is_not_settled_is_released_only_with_a_reason() {
    let visitor = Visitor::keeper().await;
    let reply = visitor.post("/orders/2/release", &[("revision", "1"), ("because", " ")]).await;
    assert_eq!(reply.status, StatusCode::UNPROCESSABLE_ENTITY);
    let fields = [("revision", "1"), ("because", "the owner read it twice")];
    assert_eq!(visitor.post("/orders/2/release", &fields).await.status, StatusCode::SEE_OTHER);
    let notes = visitor.store.notes(2).await.expect("read");
    assert!(notes[0].words.contains("the owner read it twice"));
}

#[tokio::test]
async fn an_owner_walks_is_asked_once_more_and_may_say_it_stands() {
    let visitor = Visitor::keeper().await;
    let link = visitor.link(1, "all").await;
    let owner = Visitor { cookie: None, ..visitor };
    let start = owner.get(&format!("/w/{link}")).await;
    assert!(start.text().contains("15 in all"), "{}", start.text());
    // The third reading of the walk is the height on the passenger side; here with a foot too much.
    let third = format!("/w/{link}/3");
    let wrong = owner.post(&third, &[("words", "65 1/8")]).await;
    assert!(wrong.text().contains("please read it once more"), "{}", wrong.text());
    let stands = owner.post(&third, &[("words", "65 1/8"), ("stands", "yes")]).await;
    assert_eq!(stands.status, StatusCode::SEE_OTHER);
    let right = owner.post(&third, &[("words", "53 1/8")]).await;
    assert_eq!(right.to, Some(format!("/w/{link}/4")));
    let done = owner.get(&format!("/w/{link}/16")).await.text();
    assert!(done.contains("Thank you"), "{done}");
    let junk = owner.post(&third, &[("words", "long")]).await;
    assert!(junk.text().contains("role=\"alert\""), "{}", junk.text());
    owner.store.revoke_links(1).await.expect("ended");
    assert_eq!(owner.get(&format!("/w/{link}")).await.status, StatusCode::NOT_FOUND);
    assert_eq!(owner.get("/w/0123").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_owner_is_led_to_what_was_asked() {
    let visitor = Visitor::keeper().await;
    let link = visitor.link(2, "questions").await;
    let asked = visitor.store.questions(2).await.expect("read");
    assert!(!asked.is_empty());
    let start = visitor.get(&format!("/w/{link}")).await.text();
    assert!(start.contains(&format!("{} readings would settle the rest", asked.len())), "{start}");
    visitor.post(&format!("/w/{link}/1"), &[("words", "110,5")]).await;
    let open = visitor.store.order(2).await.expect("there").row.n_open_questions;
    assert_eq!(usize::try_from(open).expect("few"), asked.len() - 1);
}

#[tokio::test]
async fn the_first_start_happens_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(folder.path()).await.expect("a database");
    let app = App::new(store.clone(), false);
    let router = router(app.clone());
    let visitor = Visitor { _folder: folder, store, app, router, cookie: None };
    assert_eq!(visitor.get("/").await.to.as_deref(), Some("/start"));
    let fields = [
        ("workshop", "Loft"),
        ("unit", "in"),
        ("name", "Robin"),
        ("password", "four words in a row"),
    ];
    let reply = visitor.post("/start", &fields).await;
    assert_eq!((reply.status, reply.to.as_deref()), (StatusCode::SEE_OTHER, Some("/")));
    assert_eq!(visitor.post("/start", &fields).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(visitor.get("/start").await.to.as_deref(), Some("/"));
}

#[tokio::test]
async fn how_far_the_files_are_is_told_until_they_are_made() {
    let visitor = Visitor::keeper().await;
    assert_eq!(
        visitor.get("/orders/3/releases/1/files/events").await.status,
        StatusCode::NOT_FOUND
    );
    visitor.post("/orders/3/release", &[("revision", "1")]).await;
    let (told, state) = tokio::join!(
        visitor.get("/orders/3/releases/1/files/events"),
        visitor.wait_for_files(3, 1)
    );
    assert_eq!(state, store::TaskState::Done);
    let told = told.text();
    assert!(told.contains("\"state\":\"waiting\"") || told.contains("\"state\":\"running\""));
    assert!(told.trim_end().ends_with("\"words\":\"\"}") && told.contains("\"state\":\"done\""));
}

#[tokio::test]
async fn a_second_release_says_what_differs() {
    let visitor = Visitor::keeper().await;
    visitor.post("/orders/3/release", &[("revision", "1")]).await;
    let order = visitor.store.order(3).await.expect("there").document.order().expect("an order");
    let reading = &order.panes[0].readings[0];
    let words = reading.taken.last().expect("taken").words.clone();
    let key = reading.name.to_string();
    let again = format!("{words} ");
    assert!(visitor.get("/orders/3/pieces").await.text().contains("Release 1"));
    // The same number in another spelling is a change all the same.
    let other = format!("0{}", again.trim());
    let saved = visitor.post("/orders/3/readings/0", &[(key.as_str(), other.as_str())]).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER, "{}", saved.text());
    let reply = visitor.post("/orders/3/release", &[("revision", "2")]).await;
    assert_eq!(reply.status, StatusCode::SEE_OTHER, "{}", reply.text());
    let page = visitor.get("/orders/3/pieces").await.text();
    assert!(page.contains(&format!("{words} became {other}")), "{page}");
}
