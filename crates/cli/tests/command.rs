//! The command as others call it: exit codes, answers that obey their schemas, input that cannot be
//! used, and folders that already hold something.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::{Value, json};
use tempfile::TempDir;

fn paneloft(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_paneloft")).args(arguments).output().unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("it ends by itself")
}

fn words(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// A folder with the demo's orders and glass book in it.
struct Orders {
    folder: TempDir,
}

impl Orders {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in shop::demo::ORDERS.iter().chain([&shop::demo::GLASS_BOOK]) {
            fs::write(folder.path().join(name), text).unwrap();
        }
        Self { folder }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> String {
        fs::write(self.folder.path().join(name), bytes).unwrap();
        self.path(name)
    }

    /// One pane whose readings agree, all of them known to the glass book.
    fn clean(&self) -> String {
        let library = shop::demo::ORDERS[0].1;
        self.write("clean.toml", library.replace("54 1/8", "53 1/8"))
    }
}

/// The JSON answer obeys the schema the command prints, by PyPI's jsonschema.
fn obeys(schema: &str, answers: &[Value]) {
    let schema: Value =
        serde_json::from_slice(&paneloft(&["schema", schema]).stdout).expect("a schema is JSON");
    let pairs: Vec<_> = answers.iter().map(|answer| json!([schema, answer])).collect();
    let input = json!({ "toml": [], "pairs": pairs }).to_string();
    let said: Value =
        serde_json::from_str(&checks::python::run("check_schema.py", &[], &input)).unwrap();
    let faults: Vec<&Value> =
        said["pairs"].as_array().unwrap().iter().filter(|f| !f.is_null()).collect();
    assert!(faults.is_empty(), "{faults:?}");
}

#[test]
fn check_ends_with_what_is_to_be_done_and_answers_by_its_schema() {
    let orders = Orders::new();
    let book = orders.path("glass-book.toml");
    let settled = paneloft(&["check", &orders.clean(), "--book", &book, "--json"]);
    assert_eq!(code(&settled), 0, "{}", words(&settled.stdout));
    let wrong = orders.path("library.toml");
    let (camper, boat) = (orders.path("camper.toml"), orders.path("narrowboat.toml"));
    let all = paneloft(&["check", &wrong, &camper, &boat, "--book", &book, "--json"]);
    assert_eq!(code(&all), 1);
    let answers: Vec<Value> = words(&all.stdout)
        .lines()
        .map(|line| serde_json::from_str(line).expect("a line is an object"))
        .collect();
    assert_eq!(answers.len(), 3);
    let doubt = &answers[0]["panes"][0]["doubts"][0];
    assert_eq!(doubt["readings"], json!(["outside.height.right"]));
    assert_eq!(doubt["kind"], "inch");
    assert!((doubt["suggested_mm"].as_f64().unwrap() - 53.125 * 25.4).abs() < 0.01);
    // The others point to an inch less: the outline is corrected, and that is said.
    assert_eq!(doubt["corrected"], true);
    assert_eq!(answers[0]["panes"][0]["verdict"], "accept");
    obeys("check", &answers);
    // One order that cannot be used spoils the exit code, not the others' answers.
    let broken = orders.write("broken.toml", "[order]\nref = 7\n");
    let mixed = paneloft(&["check", &broken, &boat, "--json"]);
    assert_eq!(code(&mixed), 2);
    assert_eq!(words(&mixed.stdout).lines().count(), 1);
    assert!(words(&mixed.stderr).contains("broken.toml:2:"));
}

#[test]
fn make_writes_every_kind_of_file_and_answers_by_its_schema() {
    let orders = Orders::new();
    let (out, book) = (orders.path("out"), orders.path("glass-book.toml"));
    let order = orders.clean();
    let made = paneloft(&["make", &order, "--book", &book, "--out", &out, "--json", "--quick"]);
    assert_eq!(code(&made), 0, "{}", words(&made.stderr));
    let answer: Value = serde_json::from_slice(&made.stdout).unwrap();
    obeys("make", std::slice::from_ref(&answer));
    let hold = &answer["panes"][0]["hold"];
    assert_eq!(hold["magnet"], "bar 40");
    assert!(hold["wind"]["gust"]["m_per_s"].as_f64().unwrap() > 1.0, "{hold}");
    assert!(hold["wind"]["gust"]["words"].as_str().unwrap().starts_with("parked only: gusts to"));
    assert_eq!(hold["grips"].as_array().unwrap().len() as u64, answer["panes"][0]["n_grips"]);
    let files = answer["files"].as_array().unwrap();
    for ending in ["dxf", "svg", "pdf", "json", "toml", "txt"] {
        assert!(files.iter().any(|f| f["path"].as_str().unwrap().ends_with(ending)), "{ending}");
    }
    for file in files {
        let path = Path::new(&out).join(file["path"].as_str().unwrap());
        assert_eq!(fs::metadata(path).unwrap().len(), file["bytes"].as_u64().unwrap());
    }
    let summary = fs::read_to_string(Path::new(&out).join("H-0142-summary.txt")).unwrap();
    for said in ["parked only: gusts to", "EN 1991-1-4", "less solar heat", "Keep magnets"] {
        assert!(summary.contains(said), "{said}\n{summary}");
    }
    // What was read can be read again and means the same.
    let again = Path::new(&out).join("H-0142-order.toml").display().to_string();
    let (first, second) = (
        paneloft(&["check", &order, "--book", &book, "--json"]),
        paneloft(&["check", &again, "--book", &book, "--json"]),
    );
    assert_eq!(words(&first.stdout), words(&second.stdout));
    // The same order gives the same bytes.
    let twice = orders.path("twice");
    paneloft(&["make", &order, "--book", &book, "--out", &twice, "--json", "--quick"]);
    for file in files {
        let name = file["path"].as_str().unwrap();
        let [a, b] = [&out, &twice].map(|dir| fs::read(Path::new(dir).join(name)).unwrap());
        assert_eq!(a, b, "{name}");
    }
}

#[test]
fn pieces_are_measured_by_their_schema_and_agree_with_what_is_drawn() {
    let orders = Orders::new();
    let out = orders.path("out");
    let made = paneloft(&["make", &orders.clean(), "--out", &out, "--format", "dxf", "--quick"]);
    assert!(code(&made) < 2, "{}", words(&made.stderr));
    let written = fs::read(Path::new(&out).join("H-0142-pieces.json")).unwrap();
    let answer: Value = serde_json::from_slice(&written).unwrap();
    obeys("pieces", std::slice::from_ref(&answer));
    let panel = &answer["pieces"][0];
    let number = |key: &str| panel[key].as_f64().unwrap();
    assert_eq!(panel["name"], "front panel");
    // An edge is part of the cut, and the order's hem lies along each long one, a little wider since
    // the cloth shrinks; short ones are the mitres of its corners.
    let edges = panel["edges"].as_array().unwrap();
    let along: f64 = edges.iter().map(|edge| edge["cut_length_mm"].as_f64().unwrap()).sum();
    assert!(edges.len() >= 4 && along < number("cut_length_mm"), "{edges:?}");
    let long = |edge: &&Value| edge["cut_length_mm"].as_f64().unwrap() > 200.0;
    let allowance = |edge: &Value| edge["allowance_mm"].as_f64().unwrap();
    let mut hems: Vec<f64> = edges.iter().filter(long).map(allowance).collect();
    hems.sort_by(f64::total_cmp);
    assert_eq!(hems.len(), 4, "{edges:?}");
    for (hem, stated) in hems.iter().zip([25.0, 25.0, 25.0, 30.0]) {
        assert!((0.0..0.2).contains(&(hem - stated)), "{hems:?}");
    }
    assert!(number("cut_area_mm2") > number("finished_area_mm2"));
    assert!(number("cut_area_mm2") < number("width_mm") * number("height_mm"));
    for drill in panel["drill_points"].as_array().unwrap() {
        let at = ["x_mm", "y_mm"].map(|key| drill[key].as_f64().unwrap());
        assert!(at[0] > 0.0 && at[0] < number("width_mm"), "{drill}");
        assert!(at[1] > 0.0 && at[1] < number("height_mm"), "{drill}");
    }
}

#[test]
fn only_what_is_chosen_is_written_and_in_the_forms_chosen() {
    let orders = Orders::new();
    let (order, out) = (orders.path("library.toml"), orders.path("out"));
    let names = || -> Vec<String> {
        let entries = fs::read_dir(&out).unwrap().map(|e| e.unwrap().file_name());
        let mut names: Vec<String> = entries.map(|n| n.into_string().unwrap()).collect();
        names.retain(|name| !name.starts_with('.'));
        names.sort();
        names
    };
    let make =
        |more: &[&str]| paneloft(&[&["make", &order, "--out", &out, "--quick"], more].concat());
    let made = make(&["--only", "left blade sleeve", "--format", "hpgl,svg", "--pens", "1,0,1"]);
    assert!(code(&made) < 2, "{}", words(&made.stderr));
    let found = names();
    let stem = "H-0142";
    for name in ["left-blade-sleeve.plt", "left-blade-sleeve.svg", "lay.plt", "pieces.json"] {
        assert!(found.contains(&format!("{stem}-{name}")), "{name}: {found:?}");
    }
    let unwanted = |name: &&String| {
        [".dxf", ".pdf"].iter().any(|end| name.ends_with(end)) || name.contains("front-panel")
    };
    assert_eq!(found.iter().find(unwanted), None);
    let plot = fs::read_to_string(Path::new(&out).join(format!("{stem}-left-blade-sleeve.plt")));
    let plot = plot.unwrap();
    assert!(plot.contains("SP1;") && !plot.contains("SP2;") && !plot.contains("SP3;"));
    // A whole panel is beyond an old plotter: it is left out, and the summary says what to do.
    let made = make(&["--only", "front panel", "--format", "hpgl", "--range", "hpgl"]);
    assert!(words(&made.stdout).contains("counts no farther than 819 mm"));
    assert!(!names().iter().any(|name| name.ends_with(".plt")));
    // A name that is nobody's is refused with those there are; nothing changes then.
    let before = names();
    let refused = make(&["--only", "bonnet"]);
    assert_eq!(code(&refused), 2);
    assert!(words(&refused.stderr).contains("choose from: front"), "{}", words(&refused.stderr));
    let refused = make(&["--pens", "1,2"]);
    assert!(code(&refused) == 2 && words(&refused.stderr).contains("3,1,2"));
    assert_eq!(names(), before);
}

#[test]
fn unsettled_pieces_say_that_they_must_not_be_cut() {
    let orders = Orders::new();
    let out = orders.path("out");
    let made = paneloft(&["make", &orders.path("library.toml"), "--out", &out, "--quick"]);
    assert_eq!(code(&made), 1, "{}", words(&made.stderr));
    let svg = fs::read_to_string(Path::new(&out).join("H-0142-front-panel.svg")).unwrap();
    assert!(svg.contains("not settled: do not cut"));
}

#[test]
fn make_leaves_what_is_in_the_folder_alone() {
    let orders = Orders::new();
    let (order, out) = (orders.path("narrowboat.toml"), PathBuf::from(orders.path("out")));
    let make = || paneloft(&["make", &order, "--out", &out.display().to_string(), "--quick"]);
    fs::create_dir(&out).unwrap();
    fs::write(out.join("holiday.jpg"), "theirs").unwrap();
    fs::write(out.join("H-0144-galley-lining.dxf"), "drawn by hand").unwrap();
    let refused = make();
    assert_eq!(code(&refused), 2);
    assert!(words(&refused.stderr).contains("H-0144-galley-lining.dxf"));
    assert_eq!(fs::read_dir(&out).unwrap().count(), 2, "nothing was written");
    fs::rename(out.join("H-0144-galley-lining.dxf"), out.join("by-hand.dxf")).unwrap();
    assert_eq!(code(&make()), 0);
    assert_eq!(code(&make()), 0, "our own files may be made again");
    assert_eq!(fs::read_to_string(out.join("holiday.jpg")).unwrap(), "theirs");
    assert_eq!(fs::read_to_string(out.join("by-hand.dxf")).unwrap(), "drawn by hand");
}

#[test]
fn input_that_cannot_be_used_is_refused_with_its_place() {
    let orders = Orders::new();
    let library = shop::demo::ORDERS[0].1;
    let with = |from: &str, to: &str| library.replacen(from, to, 1).into_bytes();
    let deep = format!("{}1{}", "[".repeat(100_000), "]".repeat(100_000));
    let bad: Vec<(&str, Vec<u8>)> = vec![
        ("empty.toml", Vec::new()),
        ("truncated.toml", library.as_bytes()[..library.find("53 5/8").unwrap()].to_vec()),
        ("truncated.json", b"{\"order\": {\"ref\": \"A".to_vec()),
        ("wrong-type.toml", with("height.centre = \"55 7/8\"", "height.centre = true")),
        ("junk.toml", vec![0x9f; 10_000_000]),
        ("words.toml", "lorem ipsum ".repeat(900_000).into_bytes()),
        ("deep.toml", format!("x = {deep}").into_bytes()),
        ("deep.json", deep.clone().into_bytes()),
        ("nul.toml", with("Mobile library 4", "Mobile\0library")),
        ("zero.toml", with("55 7/8", "0")),
        ("negative.toml", with("55 7/8", "-55")),
        ("huge.toml", with("55 7/8", "1e9")),
        ("far.toml", with("\"55 7/8\"", "1000000000")),
        ("twice.toml", with("[[pane]]", "[[pane]]\nname = \"front\"\nfamily = \"rear\"\n[[pane]]")),
        ("misspelt.toml", with("height.centre", "height.center")),
        ("ambiguous.toml", with("55 7/8", "4 6")),
        ("latin.toml", b"[order]\nref = \"gr\xe9\"\n".to_vec()),
    ];
    for (name, bytes) in bad {
        let path = orders.write(name, bytes);
        for command in [vec!["check", &path], vec!["make", &path, "--out", &orders.path("o")]] {
            let output = paneloft(&command);
            let said = words(&output.stderr);
            assert_eq!(code(&output), 2, "{name}: {said}");
            assert!(said.contains(name) && !said.contains("panicked"), "{name}: {said}");
        }
    }
    assert!(!Path::new(&orders.path("o")).exists(), "nothing was made");
    let misspelt = paneloft(&["check", &orders.path("misspelt.toml")]);
    assert!(words(&misspelt.stderr).contains("did you mean `height.centre`"));
    let ambiguous = words(&paneloft(&["check", &orders.path("ambiguous.toml")]).stderr);
    assert!(ambiguous.contains("4 ft 6 in") || ambiguous.contains("4' 6"), "{ambiguous}");
    assert_eq!(code(&paneloft(&["check", &orders.path("nowhere.toml")])), 2);
}

#[test]
fn pull_agrees_with_published_methods_and_refuses_nonsense() {
    // references.md: pair 20×3 N35 at 8 mm, pull about 5.0 N (independent program; Br 1.19 T).
    let ask = |gap: &str| {
        let disc = "disc:20x3:1.19";
        paneloft(&["pull", "--outer", disc, "--inner", disc, "--gap", gap, "--json"])
    };
    let answer: Value = serde_json::from_slice(&ask("8").stdout).unwrap();
    assert!((answer["pull_n"].as_f64().unwrap() - 5.0).abs() < 0.05);
    obeys("pull", &[answer]);
    for gap in ["-1", "0", "nan"] {
        assert_eq!(code(&ask(gap)), 2, "{gap}");
    }
    let strong =
        paneloft(&["pull", "--outer", "disc:20x3:5", "--inner", "disc:20x3:5", "--gap", "8"]);
    assert_eq!(code(&strong), 2);
}

#[test]
fn pull_reckons_with_iron_heat_and_what_lies_between() {
    let orders = Orders::new();
    let plot = orders.path("pull.svg");
    let ask = |more: &[&str]| {
        let mut args = vec!["pull", "--outer", "disc:20x3:N35", "--inner", "disc:20x3:N35"];
        args.extend(more);
        paneloft(&args)
    };
    let value = |more: &[&str]| -> Value {
        serde_json::from_slice(&ask(&[more, &["--json"]].concat()).stdout).unwrap()
    };
    // 7 + 0.5 + 0.4 + 0.1 = 8 mm.
    let through = value(&["--glass", "7", "--cloth", "0.5,0.4", "--pad", "0.1", "--table"]);
    assert!((through["pull_n"].as_f64().unwrap() - 4.992_367).abs() < 1e-5, "{through}");
    assert_eq!(through["table"].as_array().unwrap().len(), 15);
    let iron = paneloft(&[
        "pull",
        "--outer",
        "disc:20x3:N35",
        "--inner",
        "iron:40x3",
        "--gap",
        "4",
        "--json",
    ]);
    let iron: Value = serde_json::from_slice(&iron.stdout).unwrap();
    // A plate at 4 mm pulls as the pair does at 8 mm.
    assert!((iron["pull_n"].as_f64().unwrap() - 4.992_367).abs() < 1e-5, "{iron}");
    obeys("pull", &[through, iron]);

    let drawn = ask(&["--gap", "8", "--table", "--plot", &plot]);
    assert_eq!(code(&drawn), 0, "{}", words(&drawn.stderr));
    assert!(words(&drawn.stdout).contains("60 °C *"), "{}", words(&drawn.stdout));
    assert!(fs::read_to_string(&plot).unwrap().contains("force of the pair in N"));
    let again = ask(&["--gap", "8", "--plot", &plot]);
    assert_eq!(code(&again), 2, "what is there is left alone");

    for nonsense in [
        &["--glass", "60"][..],
        &["--glass", "-7"],
        &["--glass", "7", "--pad", "-1"],
        &["--glass", "7", "--cloth", "thick"],
        &["--glass", "7", "--gap", "8"],
        &["--gap", "8", "--celsius", "400"],
        &["--gap", "8", "--offset", "x"],
        &[],
    ] {
        let refused = ask(nonsense);
        assert_eq!(code(&refused), 2, "{nonsense:?}");
        assert!(!refused.stderr.is_empty() && refused.stdout.is_empty(), "{nonsense:?}");
    }
    for (outer, inner) in [
        ("iron:20x3", "iron:20x3"),
        ("disc:0x0:N35", "disc:20x3:N35"),
        ("disc:20x3:5", "disc:20x3:N35"),
        ("disc:20x3:N35", "iron:0x3"),
    ] {
        let refused = paneloft(&["pull", "--outer", outer, "--inner", inner, "--gap", "8"]);
        assert_eq!(code(&refused), 2, "{outer} {inner}");
    }
}

#[test]
fn lay_puts_shapes_and_orders_on_cloth() {
    let orders = Orders::new();
    let shapes = json!({"width_mm": 1500, "pieces": [{"name": "a", "count": 10,
        "turns_deg": [0, 180], "outline_mm": [[0, 0], [500, 0], [500, 300], [0, 300]]}]});
    let path = orders.write("shapes.json", shapes.to_string());
    let out = orders.path("lay");
    let laid = paneloft(&["lay", "--shapes", &path, "--json", "--out", &out]);
    assert_eq!(code(&laid), 0, "{}", words(&laid.stderr));
    let answer: Value = serde_json::from_slice(&laid.stdout).unwrap();
    // Five in a column, two columns of 500 mm.
    assert!((answer["length_mm"].as_f64().unwrap() - 1000.0).abs() < 0.01);
    obeys("lay", &[answer]);
    assert!(Path::new(&out).join("lay.json").exists());
    let book = orders.path("glass-book.toml");
    let (a, b) = (orders.path("library.toml"), orders.path("camper.toml"));
    let apart = paneloft(&["lay", &a, &b, "--book", &book, "--json"]);
    assert_eq!(code(&apart), 0, "{}", words(&apart.stderr));
    let answer: Value = serde_json::from_slice(&apart.stdout).unwrap();
    assert_eq!(answer["others"].as_array().unwrap().len(), 1, "their cloths differ");
    obeys("lay", &[answer]);
    let narrow = paneloft(&["lay", "--shapes", &path, "--width", "200"]);
    assert_eq!(code(&narrow), 2);
}

#[test]
fn colour_is_for_terminals() {
    let orders = Orders::new();
    let told = paneloft(&["check", &orders.path("camper.toml")]);
    assert!(!words(&told.stdout).contains('\u{1b}'));
}

#[test]
fn the_demo_runs_and_catches_the_wrong_inch() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("demo");
    let demo = paneloft(&["demo", "--out", &out.display().to_string()]);
    assert_eq!(code(&demo), 0, "{}", words(&demo.stderr));
    let said = words(&demo.stdout);
    assert!(said.contains("looks one inch too long"), "{said}");
    assert!(out.join("H-0142").join("H-0142-front-panel.dxf").exists());
}

#[test]
fn a_run_killed_at_any_moment_leaves_only_whole_files() {
    let orders = Orders::new();
    let order = orders.path("narrowboat.toml");
    let whole = PathBuf::from(orders.path("whole"));
    let begun = std::time::Instant::now();
    paneloft(&["make", &order, "--out", &whole.display().to_string(), "--quick"]);
    let usual = begun.elapsed();
    let out = PathBuf::from(orders.path("out"));
    for part in 1..=10 {
        let mut run = Command::new(env!("CARGO_BIN_EXE_paneloft"))
            .args(["make", &order, "--out", &out.display().to_string(), "--quick"])
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        // The last runs are killed while files are being written, or just after.
        std::thread::sleep(usual * part / 10);
        run.kill().unwrap();
        run.wait().unwrap();
        let Ok(found) = fs::read_dir(&out) else { continue };
        for entry in found {
            let name = entry.unwrap().file_name().into_string().unwrap();
            if !name.starts_with('.') {
                let [made, full] = [&out, &whole].map(|dir| fs::read(dir.join(&name)).unwrap());
                assert!(made == full, "{name} is not whole");
            }
        }
    }
    let again = paneloft(&["make", &order, "--out", &out.display().to_string(), "--quick"]);
    assert_eq!(code(&again), 0, "{}", words(&again.stderr));
}

#[test]
fn check_draws_each_pane_and_leaves_other_pictures_alone() {
    let orders = Orders::new();
    let (library, camper) = (orders.path("library.toml"), orders.path("camper.toml"));
    let (book, picture) = (orders.path("glass-book.toml"), orders.path("front.svg"));
    let check = || paneloft(&["check", &library, "--book", &book, "--svg", &picture]);
    assert!(code(&check()) < 2);
    let svg = fs::read_to_string(&picture).unwrap();
    // The doubtful height is marked, and the border says how much it is enlarged.
    assert!(svg.contains("hatched line: in doubt") && svg.contains("how well we know it, ×"));
    assert!(code(&check()) < 2, "our own picture may be drawn again");
    fs::write(&picture, "theirs").unwrap();
    assert_eq!(code(&check()), 2);
    assert_eq!(fs::read_to_string(&picture).unwrap(), "theirs");
    let several = orders.path("panes.svg");
    paneloft(&["check", &camper, "--svg", &several]);
    for pane in ["left-half", "right-half", "driver-s-window"] {
        let path = several.replace(".svg", &format!("-{pane}.svg"));
        assert!(fs::read_to_string(&path).unwrap().starts_with("<svg"), "{path}");
    }
    assert_eq!(code(&paneloft(&["check", &library, &camper, "--svg", &several])), 2);
}

#[test]
fn the_glass_book_learns_from_settled_orders_into_a_new_file() {
    let orders = Orders::new();
    let (clean, book) = (orders.clean(), orders.path("glass-book.toml"));
    let (camper, boat) = (orders.path("camper.toml"), orders.path("narrowboat.toml"));
    let out = orders.path("learned.toml");
    let before = fs::read_to_string(&book).unwrap();
    let learned = paneloft(&["book", "learn", &clean, &camper, "--book", &book, "--out", &out]);
    let said = words(&learned.stdout);
    assert_eq!(code(&learned), 0, "{said}{}", words(&learned.stderr));
    assert!(said.contains("sharpened: 10 panes behind it (before 9)"), "{said}");
    assert!(
        said.contains("left aside: H-0143 right half: its questions are not settled"),
        "{said}"
    );
    let new = shop::read_book(&fs::read(&out).unwrap(), "learned.toml").unwrap();
    assert_eq!(new.entries[0].settled, 10);
    // The book itself stays as it is, even when it is named as the new one.
    let over = paneloft(&["book", "learn", &clean, "--book", &book, "--out", &book]);
    assert_eq!(code(&over), 2);
    assert_eq!(fs::read_to_string(&book).unwrap(), before);
    // The new one can be checked against, shown and drawn.
    assert_eq!(code(&paneloft(&["check", &clean, "--book", &out])), 0);
    let pictures = orders.path("pictures");
    let shown = paneloft(&["book", "show", "--book", &out, "--out", &pictures]);
    assert!(words(&shown.stdout).contains("Corvane Twelve windscreen"), "{}", words(&shown.stdout));
    assert_eq!(
        fs::read_dir(&pictures)
            .unwrap()
            .filter(|f| f.as_ref().is_ok_and(|f| f.path().extension().is_some_and(|e| e == "svg")))
            .count(),
        new.entries.len()
    );
    assert_eq!(code(&paneloft(&["book", "learn", &boat, "--book", &book])), 1);
}

#[test]
fn blades_and_mirrors_are_judged_beside_the_panes() {
    let orders = Orders::new();
    let clean = fs::read_to_string(orders.clean()).unwrap();
    let wrong = clean.replacen("length = \"32\"", "length = \"44\"", 1);
    let (path, book) = (orders.write("blade.toml", wrong), orders.path("glass-book.toml"));
    let check = |more: &[&str]| paneloft(&[&["check", &*path, "--book", &*book], more].concat());
    let answer: Value = serde_json::from_slice(&check(&["--json"]).stdout).unwrap();
    obeys("check", std::slice::from_ref(&answer));
    assert_eq!(answer["panes"][0]["verdict"], "accept");
    let doubt = &answer["blades"][0]["doubts"][0];
    assert_eq!((&doubt["readings"][0], &doubt["kind"]), (&json!("length"), &json!("foot")));
    assert!((doubt["suggested_mm"].as_f64().unwrap() - 812.8).abs() < 0.1, "{doubt}");
    assert_eq!(answer["hoods"][1]["doubts"], json!([]));
    let told = check(&[]);
    assert_eq!(code(&told), 1);
    assert!(
        words(&told.stdout).contains("! The length of left blade, 44 in, looks one foot too long")
    );
}

/// A small side pane, sound, with what else its order says.
fn small_pane(cover: &str) -> String {
    format!(
        "[order]\nref = \"S-1\"\nunit = \"mm\"\n\n[vehicle]\nclass = \"boat\"\n\n\
         [[pane]]\nname = \"hatch\"\nfamily = \"side\"\nglass = \"6 mm\"\n\n[pane.outside]\n\
         height.left = 300\nheight.centre = 300\nheight.right = 300\n\
         width.base = 500\nwidth.middle = 500\nwidth.top = 500\n\
         diagonal.rising = 558\ndiagonal.falling = 558\n\
         edge.base = 477\nedge.right = 277\nedge.top = 477\nedge.left = 277\n\
         bow.base = 0\nbow.right = 0\nbow.top = 0\nbow.left = 0\n\
         radius.base-left = 40\nradius.base-right = 40\nradius.top-right = 40\nradius.top-left = 40\n\n\
         [cover]\n{cover}\n"
    )
}

#[test]
fn what_cannot_be_sewn_is_refused_with_the_way_out() {
    let orders = Orders::new();
    let out = tempfile::tempdir().unwrap();
    let library = shop::demo::ORDERS[0].1.replace("54 1/8", "53 1/8");
    let narrow = library.replace("width = \"1500 mm\"", "width = \"150 mm\"");
    let cases = [
        ("a hem wider than the piece", small_pane("hem = 160"), "choose a narrower hem"),
        (
            "a radius smaller than its allowance",
            small_pane("hem = 45\ncorner = \"rounded\""),
            "bind the edge, choose mitred corners, or turn in no more than",
        ),
        (
            "a blade longer than the glass",
            library.replacen("length = \"32\"", "length = \"130\"", 1),
            "measure the blade again from end to end of the rubber",
        ),
        (
            "a hood of no depth",
            library.replacen("depth = \"7\"", "depth = \"0\"", 1),
            "it must be more than zero, read it again",
        ),
        (
            "a hood with hardly any",
            library.replacen("depth = \"7\"", "depth = \"1/2\"", 1),
            "measure the depth from the rim to the deepest point",
        ),
        ("cloth narrower than a strip", narrow, "choose a wider cloth"),
        (
            "something to be left free that lies off the glass",
            library.replace("from_top = \"4 1/2\"", "from_top = \"-40\""),
            "check its distances from the glass edges",
        ),
        (
            "the same, farther off",
            library.replace("from_centre = \"0\"", "from_centre = \"300\""),
            "check its distances from the glass edges",
        ),
    ];
    for (what, order, way_out) in cases {
        let path = orders.write("impossible.toml", order);
        let book = orders.path(shop::demo::GLASS_BOOK.0);
        let made = paneloft(&[
            "make",
            &path,
            "--out",
            &out.path().join("files").display().to_string(),
            "--book",
            &book,
            "--quick",
        ]);
        let said = words(&made.stderr);
        assert_eq!(code(&made), 2, "{what}: {said}");
        assert!(said.contains(way_out), "{what}: {said}");
        // Nothing is written for what can't be made.
        assert!(!out.path().join("files").exists(), "{what}");
    }
}

#[test]
fn each_cloth_has_a_lay_of_its_own() {
    let orders = Orders::new();
    let boat = orders.path("narrowboat.toml");
    let lay = paneloft(&["lay", &boat, "--json"]);
    assert_eq!(code(&lay), 0, "{}", words(&lay.stderr));
    let answer: Value = serde_json::from_slice(&lay.stdout).unwrap();
    obeys("lay", std::slice::from_ref(&answer));
    assert_eq!(answer["cloth"], "blackout, sand");
    let others = answer["others"].as_array().unwrap();
    assert_eq!(others.len(), 1);
    assert_eq!(others[0]["cloth"], "felt, grey");
    let names = |lay: &Value| -> Vec<String> {
        let places = lay["places"].as_array().unwrap();
        places.iter().map(|place| place["name"].as_str().unwrap().to_owned()).collect()
    };
    assert!(names(&answer).iter().all(|name| name.starts_with("galley face")));
    assert_eq!(names(&others[0]), ["galley lining"]);
    let out = tempfile::tempdir().unwrap();
    let folder = out.path().join("files").display().to_string();
    paneloft(&["make", &boat, "--out", &folder, "--quick"]);
    for name in ["H-0144-lay.svg", "H-0144-lay-felt-grey.svg", "H-0144-lay-felt-grey.json"] {
        assert!(out.path().join("files").join(name).exists(), "{name}");
    }
}

#[test]
fn glass_bent_both_ways_is_drafted_flat() {
    let orders = Orders::new();
    let library = shop::demo::ORDERS[0].1.replace("54 1/8", "53 1/8");
    let pieces = |text: &str| {
        let path = orders.write("bent.toml", text);
        let out = tempfile::tempdir().unwrap();
        let folder = out.path().join("files");
        let book = orders.path(shop::demo::GLASS_BOOK.0);
        let given =
            ["make", &path, "--out", &folder.display().to_string(), "--book", &book, "--quick"];
        let made = paneloft(&given);
        assert_ne!(code(&made), 2, "{}", words(&made.stderr));
        let file = fs::read(folder.join("H-0142-pieces.json")).unwrap();
        let answer: Value = serde_json::from_slice(&file).unwrap();
        (answer, fs::read_to_string(folder.join("H-0142-summary.txt")).unwrap())
    };
    let bent = |up: &str| {
        let bends = format!("bend = \"6\"\nbend-up = \"{up}\"\nband.base-left");
        library.replacen("band.base-left", &bends, 1)
    };
    let area = |answer: &Value| answer["pieces"][0]["cut_area_mm2"].as_f64().unwrap();
    let (flat, _) = pieces(&bent("0"));
    let (dome, said) = pieces(&bent("3"));
    assert!((area(&dome) / area(&flat) - 1.0).abs() > 1e-5);
    assert!(said.contains("bent both ways") && said.contains("use a cloth that gives"), "{said}");
    let gives = bent("3").replace("shrinks_along = 0.5", "gives = 8");
    let (_, said) = pieces(&gives);
    assert!(!said.contains("bent both ways"), "{said}");
}
