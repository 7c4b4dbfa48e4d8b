//! A served app and a browser to use it with, both started for one test and stopped after it.

use std::io::{BufRead, BufReader};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

use fantoccini::error::CmdError;
use fantoccini::wd::Capabilities;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use tempfile::TempDir;

/// A process that ends with the test, whatever becomes of it.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// The app as `paneloft serve` serves it, with data of its own.
pub(crate) struct Served {
    _folder: TempDir,
    _app: Running,
    /// What it says; it would stop if nobody listened.
    _said: BufReader<ChildStdout>,
    /// Where it is: `http://127.0.0.1:…`.
    pub(crate) at: String,
}

impl Served {
    /// With the demo's orders, or an empty folder.
    pub(crate) fn start(demo: bool) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_paneloft"));
        command.args(["serve", "--port", "0", "--data"]).arg(folder.path().join("data"));
        if demo {
            command.arg("--demo");
        }
        let mut app =
            Running(command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap());
        let mut line = String::new();
        let mut said = BufReader::new(app.0.stdout.take().unwrap());
        said.read_line(&mut line).unwrap();
        let at = line.split_whitespace().find(|word| word.contains("http://"));
        let at = at.unwrap_or_else(|| panic!("no address in {line:?}")).trim().to_owned();
        Self { _folder: folder, _app: app, _said: said, at }
    }
}

/// Where and how somebody looks at a page.
#[derive(Clone, Copy)]
pub(crate) struct Looking {
    pub(crate) width: u32,
    pub(crate) height: u32,
    pub(crate) phone: bool,
    pub(crate) dark: bool,
}

impl Looking {
    pub(crate) const DESK: Self = Self { width: 1400, height: 900, phone: false, dark: false };
    pub(crate) const PHONE: Self = Self { width: 390, height: 844, phone: true, dark: false };

    pub(crate) const fn dark(self) -> Self {
        Self { dark: true, ..self }
    }
}

/// A browser with one page open.
pub(crate) struct Browser {
    pub(crate) client: Client,
    at: String,
    _driver: Running,
    _profile: TempDir,
}

/// How long a release's files are waited for.
pub(crate) const FILES: Duration = Duration::from_secs(400);
/// How long a page is waited for.
const PATIENCE: Duration = Duration::from_secs(30);

impl Browser {
    pub(crate) async fn open(served: &Served, looking: Looking) -> Self {
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let driver = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .spawn()
            .expect("chromedriver is missing; install Debian's chromium-driver");
        let driver = Running(driver);
        let started = Instant::now();
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(started.elapsed() < PATIENCE, "chromedriver does not answer");
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        let profile = tempfile::tempdir().unwrap();
        let mut flags = vec![
            "--headless".to_owned(),
            "--no-sandbox".to_owned(),
            "--disable-gpu".to_owned(),
            "--disable-quic".to_owned(),
            "--disable-dev-shm-usage".to_owned(),
            "--no-first-run".to_owned(),
            "--disable-background-networking".to_owned(),
            "--disable-component-update".to_owned(),
            "--disable-sync".to_owned(),
            format!("--window-size={},{}", looking.width, looking.height),
            format!("--user-data-dir={}", profile.path().display()),
        ];
        if looking.dark {
            flags.push("--blink-settings=preferredColorScheme=0".to_owned());
        }
        let mut options = json!({ "args": flags });
        if looking.phone {
            options["mobileEmulation"] = json!({
                "deviceMetrics": {
                    "width": looking.width, "height": looking.height, "pixelRatio": 2.0, "touch": true
                }
            });
        }
        let mut wanted = Capabilities::new();
        wanted.insert("goog:chromeOptions".to_owned(), options);
        wanted.insert("pageLoadStrategy".to_owned(), json!("normal"));
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(wanted)
            .connect(&format!("http://127.0.0.1:{port}"))
            .await
            .expect("a browser");
        Self { client, at: served.at.clone(), _driver: driver, _profile: profile }
    }

    pub(crate) async fn go(&self, path: &str) {
        let address =
            if path.starts_with("http") { path.to_owned() } else { self.at.clone() + path };
        self.client.goto(&address).await.unwrap();
    }

    /// The page's address without the app's own.
    pub(crate) async fn path(&self) -> String {
        self.client.current_url().await.unwrap().path().to_owned()
    }

    /// Fills a field, replacing what stands in it.
    pub(crate) async fn fill(&self, css: &str, words: &str) {
        let field = self.client.wait().at_most(PATIENCE).for_element(Locator::Css(css)).await;
        let field = field.unwrap_or_else(|error| panic!("no {css}: {error}"));
        field.clear().await.unwrap();
        field.send_keys(words).await.unwrap();
    }

    /// Chooses from a list by its value.
    pub(crate) async fn choose(&self, css: &str, value: &str) {
        let list = self.client.find(Locator::Css(css)).await.unwrap();
        list.select_by_value(value).await.unwrap();
    }

    pub(crate) async fn click(&self, css: &str) {
        let there = self.client.wait().at_most(PATIENCE).for_element(Locator::Css(css)).await;
        there.unwrap_or_else(|error| panic!("no {css}: {error}")).click().await.unwrap();
    }

    /// Clicks and waits until the page is another one.
    pub(crate) async fn click_on(&self, css: &str) {
        self.run("window.old = true", vec![]).await;
        self.click(css).await;
        self.until("a new page", "return !window.old && document.readyState === 'complete'").await;
    }

    /// Runs a script in the page.
    pub(crate) async fn run(&self, script: &str, arguments: Vec<Value>) -> Value {
        self.client.execute(script, arguments).await.unwrap()
    }

    /// Waits until a script answers with something true.
    pub(crate) async fn until(&self, what: &str, script: &str) -> Value {
        self.until_within(PATIENCE, what, script).await
    }

    /// The same with other patience: planning grips on the fine mesh takes minutes in a build that is not
    /// optimised.
    pub(crate) async fn until_within(&self, patience: Duration, what: &str, script: &str) -> Value {
        let started = Instant::now();
        loop {
            // A page that is just being left answers with an error.
            let answer: Result<Value, CmdError> = self.client.execute(script, vec![]).await;
            match answer {
                Ok(value) if !matches!(value, Value::Null | Value::Bool(false)) => return value,
                _ => {}
            }
            if started.elapsed() > patience {
                panic!("no {what} after {patience:?}; the page says: {}", self.text().await);
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// What the page says.
    pub(crate) async fn text(&self) -> String {
        let text = self.run("return document.body.innerText", vec![]).await;
        text.as_str().unwrap_or_default().to_owned()
    }

    pub(crate) async fn sign_in(&self) {
        self.go("/sign-in").await;
        self.fill("[name=name]", web::DEMO_ACCOUNT.0).await;
        self.fill("[name=password]", web::DEMO_ACCOUNT.1).await;
        self.click_on("button.main").await;
    }

    /// Presses keys as somebody without a mouse does: they go to whatever has the focus.
    pub(crate) async fn press(&self, keys: &str) {
        self.client.active_element().await.unwrap().send_keys(keys).await.unwrap();
    }

    /// Goes on by Tab until what has the focus fits a selector.
    pub(crate) async fn tab_to(&self, css: &str) {
        for _ in 0..200 {
            let there = self
                .run("return document.activeElement.matches(arguments[0])", vec![json!(css)])
                .await;
            if there == json!(true) {
                return;
            }
            self.press("\u{e004}").await;
        }
        panic!("{css} is not reached by Tab");
    }

    /// What axe-core finds against WCAG 2.2 A and AA on this page, a line each.
    pub(crate) async fn violations(&self) -> Vec<String> {
        let file = std::env::var("PANELOFT_AXE")
            .expect("PANELOFT_AXE names the file axe.min.js; ./check puts it there and sets this");
        let axe = std::fs::read_to_string(file).unwrap();
        let script = format!(
            "{axe}; const done = arguments[arguments.length - 1]; axe.run(document, {{ runOnly: ['wcag2a', \
             'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }}).then(r => done(r.violations.map(v \
             => v.id + ': ' + v.nodes.map(n => n.html + ' ' + n.failureSummary).join(' | '))))"
        );
        let found = self.client.execute_async(&script, vec![]).await.unwrap();
        let lines = found.as_array().unwrap().iter();
        lines.map(|line| line.as_str().unwrap_or_default().to_owned()).collect()
    }

    /// Bytes of the page and of all it brought, photos aside, as sent.
    pub(crate) async fn weight(&self) -> u64 {
        let bytes = self
            .run(
                "return performance.getEntriesByType('navigation').concat(performance.getEntriesByType('resource'))\
                 .reduce((sum, e) => sum + (e.encodedBodySize ?? 0), 0)",
                vec![],
            )
            .await;
        bytes.as_u64().unwrap()
    }
}
