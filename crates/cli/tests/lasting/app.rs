//! The app as a process of its own, and requests to it.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::Duration;

/// `paneloft serve` at work.
pub(crate) struct App {
    process: Child,
    /// What it says; it would stop if nobody listened.
    _said: BufReader<ChildStdout>,
    /// Its address and port.
    pub(crate) at: String,
}

impl App {
    /// With its data in a folder; with a limit, no file of it may grow beyond so many blocks of 512
    /// bytes, as on a disk that is full.
    pub(crate) fn start(data: &Path, most_blocks: Option<u32>) -> Self {
        let program = env!("CARGO_BIN_EXE_paneloft");
        let mut command = match most_blocks {
            None => Command::new(program),
            Some(blocks) => {
                let mut shell = Command::new("sh");
                let limit = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\"");
                shell.args(["-c", &limit, "sh", program]);
                shell
            }
        };
        let mut process = command
            .args(["serve", "--demo", "--port", "0", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        let mut said = BufReader::new(process.stdout.take().unwrap());
        said.read_line(&mut line).unwrap();
        let at =
            line.split("http://").nth(1).unwrap_or_else(|| panic!("{line:?}")).trim().to_owned();
        Self { process, _said: said, at }
    }

    /// At once and without a word to it, as by a cut of the power but for the disk's own memory.
    pub(crate) fn kill(mut self) {
        self.process.kill().unwrap();
        self.process.wait().unwrap();
    }
}

/// One request; the answer's status, head and body. An error when the app dies meanwhile.
pub(crate) fn ask(
    at: &str,
    method: &str,
    path: &str,
    cookie: &str,
    body: &str,
) -> io::Result<(u16, String)> {
    let mut stream = TcpStream::connect(at)?;
    stream.set_read_timeout(Some(Duration::from_secs(30)))?;
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nhost: {at}\r\nconnection: close\r\ncookie: {cookie}\r\ncontent-type: \
         application/x-www-form-urlencoded\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    )?;
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes)?;
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let status = text.get(9..12).and_then(|status| status.parse().ok());
    status.map(|status| (status, text)).ok_or_else(|| io::ErrorKind::UnexpectedEof.into())
}

pub(crate) fn signed_in(at: &str) -> String {
    let (name, password) = web::DEMO_ACCOUNT;
    let body = format!("name={name}&password={}", password.replace(' ', "+"));
    let (status, answer) = ask(at, "POST", "/sign-in", "", &body).unwrap();
    assert_eq!(status, 303, "{answer}");
    let set = answer.lines().find_map(|l| l.strip_prefix("set-cookie: ")).unwrap();
    set.split(';').next().unwrap().to_owned()
}
