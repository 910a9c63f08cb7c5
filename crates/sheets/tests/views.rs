//! From where each view of a tool is seen: facing the tip, its sides swap hands.
#![expect(clippy::panic, reason = "a test fails by panicking")]

mod scenes;

use form::Units;
use sheets::{Drawing, FlankSide, Item, Paper, tool_template};

/// Where a text stands, mm from the left; the first that begins with it.
fn at(page: &Drawing, text: &str) -> f64 {
    page.items()
        .find_map(|i| match i {
            Item::Text(t) if t.text == text => Some(t.at.x),
            _ => None,
        })
        .unwrap_or_else(|| panic!("no \"{text}\""))
}

#[test]
fn whoever_faces_the_tip_has_the_leading_side_on_the_other_hand() {
    let info = scenes::info(Paper::A4, Units::Mm, "Floor loom");
    for leading in [FlankSide::Left, FlankSide::Right] {
        let mut t = scenes::template(scenes::trapezoid_4());
        t.leading = leading;
        let pages = tool_template(&info, &t).unwrap();
        let page = &pages[0];
        let plan = at(page, "leading side") < at(page, "following side");
        assert_eq!(plan, leading == FlankSide::Left);
        let front = at(page, "leading") < at(page, "following");
        assert_ne!(front, plan, "the front view must show the other hand");
        // The large clearance goes on the leading side there as well.
        let large = at(page, "8.50°") < at(page, "1.20°");
        assert_eq!(large, front);
        at(page, "rake face up: the sides swap hands");
    }
}
