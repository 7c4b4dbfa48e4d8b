//! The app used as people use it, in Debian's Chromium: an order from its taking in to its files, an
//! owner's walk on a phone, everything by keyboard, and every page against the rules of axe-core
//! (WCAG 2.2, A and AA).

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

mod bench;

use bench::{Browser, FILES, Looking, Served};
use serde_json::json;

/// The demo's windscreen as a careful owner reads it; the walk asks for these and no others.
const READ: [(&str, &str); 15] = [
    ("outside.height.centre", "55 7/8"),
    ("outside.height.left", "53 5/8"),
    ("outside.height.right", "53 1/8"),
    ("outside.width.base", "90 7/8"),
    ("outside.edge.left", "51 1/8"),
    ("outside.diagonal.rising", "99 3/4"),
    ("outside.diagonal.falling", "100 1/4"),
    ("outside.band.base-centre", "5 1/2"),
    ("outside.band.base-left", "5 1/4"),
    ("outside.band.top-centre", "2 7/8"),
    ("outside.band.left-low", "3 1/4"),
    ("inside.height.centre", "52 1/4"),
    ("inside.height.left", "50 1/8"),
    ("inside.band.base-centre", "2 1/8"),
    ("inside.band.top-centre", "2 1/4"),
];

/// Takes in an order of the demo's vehicle by hand; the page is then its readings desk.
async fn take_in(browser: &Browser, reference: &str) {
    browser.go("/orders/new").await;
    browser.fill("[name=reference]", reference).await;
    browser.fill("[name=owner]", "Mobile library 9").await;
    browser.fill("[name=make]", "Corvane").await;
    browser.fill("[name=model]", "Twelve").await;
    browser.fill("[name=year]", "2014").await;
    browser.choose("[name=steering]", "right").await;
    browser.click_on("form[action='/orders/new'] button").await;
}

/// Waits until what is on the desk is saved and judged.
async fn settle(browser: &Browser) {
    browser.until("desk at rest", "return !document.querySelector('.desk[aria-busy=true]')").await;
}

#[tokio::test]
async fn an_order_goes_from_its_taking_in_to_its_files() {
    let served = Served::start(true);
    let browser = Browser::open(&served, Looking::DESK).await;
    browser.sign_in().await;
    take_in(&browser, "B-1").await;
    for (name, words) in READ {
        // One height is first typed an inch too long.
        let words = if name == "outside.height.right" { "54 1/8" } else { words };
        browser.choose("#more", name).await;
        browser.fill(&format!("[id='in-{name}']"), words).await;
    }
    browser.press("\u{e004}").await;
    settle(&browser).await;
    let fix = "#doubts form input[value='53 1/8 in']";
    browser
        .until("doubt with what it should be", &format!("return document.querySelector(\"{fix}\")"))
        .await;
    assert!(browser.text().await.contains("looks one inch too long"), "{}", browser.text().await);
    browser.click_on("#doubts form button.main").await;
    let text = browser.text().await;
    assert!(text.contains("Settled:"), "{text}");
    browser.click_on(".chain a[href$='/pieces']").await;
    browser.click_on("form[action$='/release'] button").await;
    let zip = browser
        .until_within(
            FILES,
            "files",
            "const a = document.querySelector('a[href$=\"files.zip\"]'); return a && a.href",
        )
        .await;
    let size = browser
        .client
        .execute_async(
            "const done = arguments[1]; fetch(arguments[0]).then(r => r.arrayBuffer()).then(b => done([b.byteLength, \
             String.fromCharCode(...new Uint8Array(b, 0, 2))]))",
            vec![zip],
        )
        .await
        .unwrap();
    assert!(size[0].as_u64().unwrap() > 20_000 && size[1] == json!("PK"), "{size}");
    browser.click_on(".chain a[href$='/history']").await;
    let text = browser.text().await;
    assert!(
        text.contains("54 1/8 corrected to 53 1/8 in, because the others point to it"),
        "{text}"
    );
}

#[tokio::test]
async fn an_owner_walks_with_a_phone_and_puts_a_wrong_inch_right() {
    let served = Served::start(true);
    let desk = Browser::open(&served, Looking::DESK).await;
    desk.sign_in().await;
    take_in(&desk, "B-2").await;
    desk.click_on(".chain a[href$='/questions']").await;
    desk.click_on("button[name=what][value=all]").await;
    let link = desk.run("return document.getElementById('owner-link').href", vec![]).await;

    let phone = Browser::open(&served, Looking::PHONE).await;
    phone.go(link.as_str().unwrap()).await;
    assert!(phone.text().await.contains("15 in all"), "{}", phone.text().await);
    phone.click_on("a.button.main").await;
    for (step, (name, words)) in READ.into_iter().enumerate() {
        assert!(phone.path().await.ends_with(&format!("/{}", step + 1)), "{name}");
        let wrong = name == "outside.diagonal.falling";
        phone.fill("[name=words]", if wrong { "101 1/4" } else { words }).await;
        if step == 3 {
            // The page is closed by mistake and opened again: what was typed is still there.
            phone.go(&phone.path().await).await;
            let kept =
                phone.run("return document.querySelector('[name=words]').value", vec![]).await;
            assert_eq!(kept, json!(words));
        }
        if wrong {
            phone.click("form button.main").await;
            phone.until("gentle question", "return document.querySelector('[role=alert]')").await;
            let said = phone.text().await;
            assert!(said.contains("about 1 in longer than we would expect"), "{said}");
            phone.fill("[name=words]", words).await;
        }
        phone.click_on("form button.main").await;
    }
    let said = phone.text().await;
    assert!(said.contains("Thank you") && !said.contains("Still open"), "{said}");
    desk.click_on(".chain a[href*='/readings/']").await;
    let text = desk.text().await;
    assert!(text.contains("Settled:"), "{text}");
}

#[tokio::test]
async fn everything_is_done_by_keyboard() {
    let served = Served::start(true);
    let browser = Browser::open(&served, Looking::DESK).await;
    browser.go("/sign-in").await;
    browser.press(web::DEMO_ACCOUNT.0).await;
    browser.tab_to("[name=password]").await;
    browser.press(web::DEMO_ACCOUNT.1).await;
    browser.press("\u{e007}").await;
    browser.until("today", "return location.pathname === '/'").await;
    browser.tab_to(".cards a[href='/orders/1']").await;
    browser.press("\u{e007}").await;
    browser.until("order", "return location.pathname === '/orders/1'").await;
    browser.tab_to(".chain a[href$='/readings/0']").await;
    browser.press("\u{e007}").await;
    browser.until("desk", "return document.getElementById('readings')").await;
    browser.tab_to("#doubts form button.main").await;
    browser.press("\u{e007}").await;
    browser.until("settled", "return document.body.innerText.includes('Settled:')").await;
    browser.tab_to(".chain a[href$='/pieces']").await;
    browser.press("\u{e007}").await;
    browser.until("pieces", "return location.pathname.endsWith('/pieces')").await;
    browser.tab_to("form[action$='/release'] button").await;
    browser.press("\u{e007}").await;
    browser
        .until_within(FILES, "files", "return document.querySelector('a[href$=\"files.zip\"]')")
        .await;
}

/// Every page, with what it needs to be there.
async fn pages(browser: &Browser) -> Vec<String> {
    browser.go("/orders/2/questions").await;
    browser.click_on("button[name=what][value=all]").await;
    let link =
        browser.run("return new URL(document.getElementById('owner-link').href).pathname", vec![]);
    let link = link.await.as_str().unwrap().to_owned();
    let mut pages: Vec<String> =
        ["/", "/?q=nothing", "/orders/new", "/workshop", "/nowhere"].map(str::to_owned).to_vec();
    for order in 1..=3 {
        for page in ["", "/readings/0", "/questions", "/pieces", "/history", "/table"] {
            pages.push(format!("/orders/{order}{page}"));
        }
    }
    pages.extend(["", "/1", "/8", "/photos", "/99"].map(|step| format!("{link}{step}")));
    pages
}

/// Most bytes of a page with all it brings, photos aside.
const HEAVIEST: u64 = 150_000;

async fn looks_right(looking: Looking) {
    let served = Served::start(true);
    let browser = Browser::open(&served, looking).await;
    browser.go("/sign-in").await;
    let mut faults = browser.violations().await;
    browser.sign_in().await;
    for page in pages(&browser).await {
        browser.go(&page).await;
        for line in browser.violations().await {
            faults.push(format!("{page}: {line}"));
        }
        let wider = browser
            .run("return document.documentElement.scrollWidth - document.documentElement.clientWidth", vec![])
            .await;
        if wider.as_i64().unwrap() > 0 {
            faults.push(format!("{page} is {wider} px wider than the screen"));
        }
        let weight = browser.weight().await;
        if weight > HEAVIEST {
            faults.push(format!("{page} weighs {weight} bytes"));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[tokio::test]
async fn every_page_is_for_everybody_at_a_desk() {
    looks_right(Looking::DESK).await;
}

#[tokio::test]
async fn every_page_is_for_everybody_at_a_desk_in_the_dark() {
    looks_right(Looking::DESK.dark()).await;
}

#[tokio::test]
async fn every_page_is_for_everybody_on_a_phone() {
    looks_right(Looking::PHONE).await;
}

#[tokio::test]
async fn the_first_start_explains_itself() {
    let served = Served::start(false);
    let browser = Browser::open(&served, Looking::DESK).await;
    browser.go("/").await;
    assert_eq!(browser.path().await, "/start");
    assert_eq!(browser.violations().await, Vec::<String>::new());
    browser.fill("[name=workshop]", "Slate Quay Covers").await;
    browser.fill("[name=name]", "Alex").await;
    browser.fill("[name=password]", "four words in a row").await;
    browser.click_on("button.main").await;
    assert!(browser.text().await.contains("Nothing on the board yet"));
}
