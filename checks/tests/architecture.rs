//! The crates use each other as the table in ARCHITECTURE.md says, and the core is pure.
//!
//! Source: the table under "Dependencies" in ARCHITECTURE.md, against the manifests as Cargo reads
//! them (`cargo metadata`) and the text of `crates/*/src`.
//!
//! Ignores: what crates use in their tests only (dev-dependencies), and words in line comments.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Crates that take values and give values, and nothing else.
const CORE: [&str; 6] = ["geometry", "survey", "hold", "drafting", "lay", "export"];

/// Modules of the standard library that reach outside the program.
const OUTSIDE: [&str; 4] = ["std::env", "std::fs", "std::net", "std::process"];

/// Words for clocks, the screen and randomness without a seed.
const IMPURE: [&str; 10] = [
    "Instant",
    "SystemTime",
    "dbg!",
    "eprint!",
    "eprintln!",
    "from_os_rng",
    "print!",
    "println!",
    "rand::rng",
    "std::thread::sleep",
];

/// Crate name to the crates it uses or may use.
type Arrows = BTreeMap<String, BTreeSet<String>>;

#[test]
fn every_arrow_between_crates_is_in_the_table() {
    let table = read_table(&read(&root().join("ARCHITECTURE.md")));
    let wrong = wrong_arrows(&arrows_in_manifests(), &table);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_core_is_pure() {
    let mut impure = Vec::new();
    for name in CORE {
        for file in rust_files(&root().join("crates").join(name).join("src")) {
            for (line, word) in impurities(&read(&file)) {
                impure.push(format!("{}:{line}: `{word}`", file.display()));
            }
        }
    }
    assert!(
        impure.is_empty(),
        "core crates touch no file, clock, network, environment or screen and take their seeds \
         from the caller; move this to `shop` or `cli`:\n{}",
        impure.join("\n")
    );
}

#[test]
fn a_wrong_arrow_is_reported() {
    let table = read_table(
        "## Dependencies\n\
         | crate | may use | purpose |\n\
         | --- | --- | --- |\n\
         | `low` | none | numbers |\n\
         | `middle` | `low` | shapes |\n\
         | `top` | all above | files |\n\
         | `checks` | any | tests |\n\
         ## Next\n\
         | `stray` | none | not of the table |\n",
    );
    let arrows = |pairs: &[(&str, &str)]| {
        let mut arrows: Arrows =
            ["low", "middle", "top", "checks"].map(|name| (name.into(), BTreeSet::new())).into();
        for (from, to) in pairs {
            arrows.entry((*from).into()).or_default().insert((*to).into());
        }
        wrong_arrows(&arrows, &table)
    };
    assert!(arrows(&[("middle", "low"), ("top", "middle"), ("checks", "top")]).is_empty());
    assert!(arrows(&[("low", "middle")])[0].starts_with("low uses middle"));
    assert!(arrows(&[("stray", "low")])[0].starts_with("stray has no row"));
    assert!(wrong_arrows(&Arrows::new(), &table)[0].starts_with("checks has a row"));
}

#[test]
#[should_panic(expected = "low may use top")]
fn a_row_that_names_a_later_crate_is_refused() {
    read_table("## Dependencies\n| `low` | `top` | a |\n| `top` | none | b |\n");
}

#[test]
fn an_impure_word_is_found_however_it_is_imported() {
    let found = |code| impurities(code).into_iter().map(|(_, word)| word).collect::<Vec<_>>();
    assert_eq!(found("let text = std::fs::read(path);"), ["std::fs"]);
    assert_eq!(found("use std::{\n    cmp::{Ord, max},\n    env,\n};"), ["std::env"]);
    assert_eq!(found("let start = Instant::now();"), ["Instant"]);
    assert_eq!(found("// std::fs is not for us\nuse std::fmt;"), [""; 0]);
    assert_eq!(found("let instant = Instantly; environment(); std::envelope()"), [""; 0]);
    assert_eq!(impurities("fn a() {\n    println!(\"b\");\n}"), [(2, "println!".to_string())]);
}

fn root() -> PathBuf {
    let checks = Path::new(env!("CARGO_MANIFEST_DIR"));
    checks.parent().expect("this package lies in the workspace").to_path_buf()
}

fn read(file: &Path) -> String {
    std::fs::read_to_string(file).unwrap_or_else(|error| panic!("{}: {error}", file.display()))
}

/// Reads the rows under the heading "Dependencies". A crate may use only crates of rows above its
/// own, which keeps the arrows one-way; `any` is for packages that nothing may use.
fn read_table(document: &str) -> Arrows {
    let rows: Vec<(String, String)> = document
        .lines()
        .skip_while(|line| *line != "## Dependencies")
        .skip(1)
        .take_while(|line| !line.starts_with("## "))
        .filter_map(|line| {
            let mut cells = line.strip_prefix('|')?.split('|').map(|cell| cell.replace('`', ""));
            Some((cells.next()?.trim().to_string(), cells.next()?.trim().to_string()))
        })
        .filter(|(name, _)| name != "crate" && !name.starts_with("--"))
        .collect();
    assert!(!rows.is_empty(), "ARCHITECTURE.md has no table under \"## Dependencies\"");

    let mut table = Arrows::new();
    for (name, may_use) in &rows {
        let above: BTreeSet<String> = table.keys().cloned().collect();
        let allowed = match may_use.as_str() {
            "none" => BTreeSet::new(),
            "all above" => above,
            "any" => rows.iter().map(|(other, _)| other.clone()).collect(),
            list => list.split(',').map(|other| other.trim().to_string()).collect(),
        };
        if may_use != "any" {
            for other in &allowed {
                assert!(
                    table.contains_key(other),
                    "{name} may use {other}, whose row is not above its own; arrows go one way"
                );
            }
        }
        table.insert(name.clone(), allowed);
    }
    table
}

/// The crates of the workspace and which others of it each one is built from.
fn arrows_in_manifests() -> Arrows {
    let answer = Command::new(env!("CARGO"))
        .args(["metadata", "--offline", "--no-deps", "--format-version", "1"])
        .current_dir(root())
        .output()
        .expect("the cargo that built this test still runs");
    assert!(answer.status.success(), "{}", String::from_utf8_lossy(&answer.stderr));
    let metadata: serde_json::Value =
        serde_json::from_slice(&answer.stdout).expect("cargo answers in JSON");

    let text = |value: &serde_json::Value| value.as_str().map(str::to_string);
    let list = |value: &serde_json::Value| value.as_array().cloned().unwrap_or_default();
    list(&metadata["packages"])
        .iter()
        .filter_map(|package| {
            let ours = list(&package["dependencies"])
                .into_iter()
                .filter(|dependency| dependency["path"].is_string() && dependency["kind"] != "dev");
            Some((text(&package["name"])?, ours.filter_map(|d| text(&d["name"])).collect()))
        })
        .collect()
}

fn wrong_arrows(used: &Arrows, table: &Arrows) -> Vec<String> {
    let mut wrong = Vec::new();
    for (name, uses) in used {
        match table.get(name) {
            None => wrong.push(format!(
                "{name} has no row in the table of ARCHITECTURE.md; add one that says what it is for"
            )),
            Some(allowed) => wrong.extend(uses.difference(allowed).map(|other| {
                format!(
                    "{name} uses {other}, which its row in ARCHITECTURE.md does not allow; move \
                     the code, or change the table and say why"
                )
            })),
        }
    }
    for name in table.keys().filter(|name| !used.contains_key(*name)) {
        wrong.push(format!("{name} has a row in ARCHITECTURE.md but is no crate; remove the row"));
    }
    wrong
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let entries =
        std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    for entry in entries {
        let path = entry.expect("the folder can be read to its end").path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

/// Every word of a source file that reaches outside the program, with its line.
fn impurities(source: &str) -> Vec<(usize, String)> {
    let code: String = source
        .lines()
        .map(|line| line.split("//").next().unwrap_or_default().to_string() + "\n")
        .collect();
    let mut found: Vec<(usize, &str)> = IMPURE
        .iter()
        .flat_map(|word| whole_words(&code, word).map(move |at| (at, *word)))
        .collect();
    for (at, name) in names_in_std(&code) {
        found
            .extend(OUTSIDE.iter().filter(|path| path["std::".len()..] == *name).map(|p| (at, *p)));
    }
    found.sort_unstable();
    let line = |at: usize| code[..at].matches('\n').count() + 1;
    found.into_iter().map(|(at, word)| (line(at), word.to_string())).collect()
}

fn is_of_a_word(character: char) -> bool {
    character.is_alphanumeric() || character == '_'
}

/// Where `word` stands in `code` and is not part of a longer name.
fn whole_words<'a>(code: &'a str, word: &'a str) -> impl Iterator<Item = usize> + 'a {
    code.match_indices(word).map(|(at, _)| at).filter(move |at| {
        !code[..*at].ends_with(is_of_a_word) && !code[at + word.len()..].starts_with(is_of_a_word)
    })
}

/// The names that follow `std::`, alone or at the outer level of a braced list, with their places.
fn names_in_std(code: &str) -> Vec<(usize, &str)> {
    let mut names = Vec::new();
    for (start, _) in code.match_indices("std::") {
        let mut depth = 0_usize;
        let mut name_may_start = true;
        for (offset, character) in code[start + "std::".len()..].char_indices() {
            let at = start + "std::".len() + offset;
            match character {
                '{' => depth += 1,
                '}' => depth = depth.saturating_sub(1),
                ',' if depth == 1 => name_may_start = true,
                _ if is_of_a_word(character) && name_may_start && depth <= 1 => {
                    let end = code[at..].find(|c| !is_of_a_word(c)).map_or(code.len(), |n| at + n);
                    names.push((at, &code[at..end]));
                    name_may_start = false;
                }
                _ => {}
            }
            if depth == 0 && !name_may_start || character == ';' {
                break;
            }
        }
    }
    names
}
