//! Asks an independent Python program for a second opinion.

use std::env;
use std::io::Write;
use std::process::{Command, Stdio};

/// Runs `checks/python/SCRIPT` with these arguments and this standard input, and answers what it
/// printed. The interpreter is the one named by `PANELOFT_PYTHON`, which `./check` sets; it has the
/// packages of `checks/python/requirements.txt`.
///
/// # Panics
/// When the variable isn't set or the script fails: a check that can't be made has failed.
#[must_use]
pub fn run(script: &str, args: &[&str], input: &str) -> String {
    let python = env::var_os("PANELOFT_PYTHON").expect(
        "PANELOFT_PYTHON names no Python with checks/python/requirements.txt; run ./check, which \
         sets it, or set it yourself",
    );
    let script = format!("{}/python/{script}", env!("CARGO_MANIFEST_DIR"));
    let mut child = Command::new(python)
        .arg(&script)
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the Python of PANELOFT_PYTHON starts");
    // Dropping the pipe ends the input. The scripts read all of it before they print.
    let mut pipe = child.stdin.take().expect("its input was asked for");
    let fed = pipe.write_all(input.as_bytes());
    drop(pipe);
    let output = child.wait_with_output().expect("the script ends");
    assert!(output.status.success() && fed.is_ok(), "{script} failed: {}", output.status);
    String::from_utf8(output.stdout).expect("the script prints UTF-8")
}
