//! How the app bears a crowd: 200 owners saving answers and 20 people at readings desks, at once.
//!
//! ```console
//! $ cargo build --release && cargo run --release -p cli --example crowd -- 120
//! ```
//!
//! Starts the release build's `paneloft serve` on an empty folder, makes an order and a link for each
//! owner, and then lets all of them work for that many seconds. An owner saves an answer every four
//! seconds, faster than a tape can be read; somebody at a desk types one change a second. Prints
//! what went wrong (nothing should), the times of the answers, and the most memory the app held.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a tool for developers")]

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use hyper_util::client::legacy::Client;
use hyper_util::client::legacy::connect::HttpConnector;
use hyper_util::rt::TokioExecutor;

const OWNERS: usize = 200;
const DESKS: usize = 20;
const OWNER_RESTS: Duration = Duration::from_secs(4);
const DESK_RESTS: Duration = Duration::from_secs(1);

type Web = Client<HttpConnector, String>;

async fn ask(web: &Web, method: &str, at: &str, cookie: &str, body: String) -> (u16, String) {
    let request = hyper::Request::builder()
        .method(method)
        .uri(at)
        .header("cookie", cookie)
        .header("content-type", "application/x-www-form-urlencoded")
        .body(body)
        .unwrap();
    match web.request(request).await {
        Ok(answer) => {
            use http_body_util::BodyExt;
            let status = answer.status().as_u16();
            let set = answer.headers().get("set-cookie").map(|v| v.to_str().unwrap().to_owned());
            let to = answer.headers().get("location").map(|v| v.to_str().unwrap().to_owned());
            match answer.into_body().collect().await {
                Ok(body) => {
                    let body = String::from_utf8_lossy(&body.to_bytes()).into_owned();
                    (status, set.or(to).unwrap_or(body))
                }
                Err(error) => (0, error.to_string()),
            }
        }
        Err(error) => (0, format!("{error:?}")),
    }
}

/// A form's words, percent-encoded.
fn encoded(text: &str) -> String {
    text.bytes().map(|b| format!("%{b:02X}")).collect()
}

/// Times and faults of one person.
#[derive(Default)]
struct Felt {
    waits: Vec<Duration>,
    faults: Vec<String>,
}

impl Felt {
    async fn time(&mut self, answer: impl Future<Output = (u16, String)>) {
        let from = Instant::now();
        let (status, said) = answer.await;
        self.waits.push(from.elapsed());
        if !matches!(status, 200 | 303) {
            self.faults.push(format!("{status}: {}", said.chars().take(200).collect::<String>()));
        }
    }
}

fn print(who: &str, felt: Vec<Felt>) {
    let faults: Vec<&String> = felt.iter().flat_map(|felt| &felt.faults).collect();
    let mut waits: Vec<Duration> =
        felt.iter().flat_map(|felt| felt.waits.iter().copied()).collect();
    waits.sort();
    let part = |p: f64| waits[((waits.len() - 1) as f64 * p) as usize].as_secs_f64() * 1000.0;
    println!(
        "{who}: {} answers, {} faults; half within {:.0} ms, 99 in 100 within {:.0} ms, all within {:.0} ms",
        waits.len(),
        faults.len(),
        part(0.5),
        part(0.99),
        part(1.0)
    );
    faults.iter().take(5).for_each(|fault| println!("  {fault}"));
}

#[tokio::main]
async fn main() {
    let seconds = std::env::args().nth(1).and_then(|text| text.parse().ok()).unwrap_or(120);
    let folder = tempfile::tempdir().unwrap();
    let program =
        std::env::current_exe().unwrap().parent().unwrap().parent().unwrap().join("paneloft");
    let mut app = Command::new(&program)
        .args(["serve", "--demo", "--port", "0", "--data"])
        .arg(folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap_or_else(|error| panic!("{}: {error}; build it first", program.display()));
    let mut line = String::new();
    // It would stop if nobody listened to what more it says.
    let mut said = BufReader::new(app.stdout.take().unwrap());
    said.read_line(&mut line).unwrap();
    let at = format!("http://{}", line.split("http://").nth(1).unwrap().trim());
    let web: Web = Client::builder(TokioExecutor::new()).build(HttpConnector::new());

    let (name, password) = web::DEMO_ACCOUNT;
    let form = format!("name={name}&password={}", encoded(password));
    let (_, set) = ask(&web, "POST", &format!("{at}/sign-in"), "", form).await;
    let cookie = set.split(';').next().unwrap().to_owned();
    let mut links = Vec::new();
    for n in 0..OWNERS {
        let text = shop::demo::ORDERS[0].1.replace("H-0142", &format!("C-{n:04}"));
        let form = format!("text={}", encoded(&text));
        let (_, order) = ask(&web, "POST", &format!("{at}/orders/new/file"), &cookie, form).await;
        let form = "what=all".to_owned();
        let (_, page) = ask(&web, "POST", &format!("{at}{order}/questions"), &cookie, form).await;
        links.push((order, page.split("/w/").nth(1).unwrap()[..64].to_owned()));
    }

    let end = Instant::now() + Duration::from_secs(seconds);
    let mut owners = Vec::new();
    for (n, (_, link)) in links.iter().cloned().enumerate() {
        let (web, at) = (web.clone(), at.clone());
        owners.push(tokio::spawn(async move {
            let mut felt = Felt::default();
            tokio::time::sleep(OWNER_RESTS.mul_f64(n as f64 / OWNERS as f64)).await;
            for turn in 0_usize.. {
                if Instant::now() >= end {
                    break;
                }
                let step = turn % 3 + 1;
                // Near what is right, and another length each time.
                let words = [55.875, 53.625, 53.125][step - 1] + (turn % 5) as f64 / 16.0;
                let page = format!("{at}/w/{link}/{step}");
                felt.time(ask(&web, "POST", &page, "", format!("words={words}"))).await;
                tokio::time::sleep(OWNER_RESTS).await;
            }
            felt
        }));
    }
    let mut desks = Vec::new();
    for n in 0..DESKS {
        let (web, at, cookie) = (web.clone(), at.clone(), cookie.clone());
        let order = links[n * OWNERS / DESKS].0.clone();
        desks.push(tokio::spawn(async move {
            let mut felt = Felt::default();
            tokio::time::sleep(DESK_RESTS.mul_f64(n as f64 / DESKS as f64)).await;
            for turn in 0_u32.. {
                if Instant::now() >= end {
                    break;
                }
                let words = 90.0 + f64::from(turn % 16) / 8.0;
                let page = format!("{at}{order}/readings/0/try");
                let form = format!("outside.width.base={words}");
                felt.time(ask(&web, "POST", &page, &cookie, form)).await;
                tokio::time::sleep(DESK_RESTS).await;
            }
            felt
        }));
    }
    let mut felt = (Vec::new(), Vec::new());
    for owner in owners {
        felt.0.push(owner.await.unwrap());
    }
    for desk in desks {
        felt.1.push(desk.await.unwrap());
    }
    let status = std::fs::read_to_string(format!("/proc/{}/status", app.id())).unwrap();
    let most = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or("VmHWM unknown");
    print("owners", felt.0);
    print("desks", felt.1);
    println!("most memory: {}", most.trim_start_matches("VmHWM:").trim());
    app.kill().unwrap();
    app.wait().unwrap();
}
