//! The SVG of two pages, letter by letter. After an intended change run the test with
//! `UPDATE_GOLDEN=1` and look at the difference.
#![expect(clippy::expect_used, clippy::unwrap_used, reason = "helpers of tests stop the test")]

mod scenes;

use form::Units;
use sheets::{Drawing, Paper, SheetInfo, svg, tool_template};
use shop::UseOfThread;

fn compare(name: &str, page: &Drawing) {
    let path = format!("{}/tests/golden/{name}.svg", env!("CARGO_MANIFEST_DIR"));
    let now = svg(page);
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, &now).unwrap();
    }
    let golden =
        std::fs::read_to_string(&path).expect("a golden file; make it with UPDATE_GOLDEN=1");
    for (i, (a, b)) in golden.lines().zip(now.lines()).enumerate() {
        assert_eq!(a, b, "{name}.svg line {}", i + 1);
    }
    assert_eq!(golden.lines().count(), now.lines().count(), "{name}.svg has another length");
}

#[test]
fn tool_template_of_a_thirty_degree_thread() {
    let info = scenes::info(Paper::A4, Units::Mm, "Studio easel, mast screw");
    let pages = tool_template(&info, &scenes::template(scenes::trapezoid_4())).unwrap();
    compare("tool-trapezoid-4", &pages[0]);
}

#[test]
fn refusal() {
    let info = scenes::info(Paper::Letter, Units::Inch, "A press");
    let info = SheetInfo { thread_use: UseOfThread::Presses, ..info };
    let pages = tool_template(&info, &scenes::template(scenes::trapezoid_4())).unwrap();
    compare("refusal-press", &pages[0]);
}
