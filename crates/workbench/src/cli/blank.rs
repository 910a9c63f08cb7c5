//! `flanklight blank`: setting out the blank of a nut.

use super::args::Blank;
use super::failure::Failure;
use super::{print, print_json, text};
use form::{Quantity, Said};
use serde::Serialize;

#[derive(Serialize)]
struct BlankRecord {
    schema: &'static str,
    axis_below_face_mm: Option<Quantity>,
    axis_drop_mm: Option<Quantity>,
    centring: Option<shop::Centring>,
}

pub(super) fn run(b: &Blank) -> Result<(), Failure> {
    let usage = |e: shop::SettingOutError| Failure::Usage(e.said());
    let axis_below_face_mm = match (b.face, b.cylinder.first()) {
        (Some(face), Some(c)) => Some(shop::axis_below_face_mm(face, c).map_err(usage)?),
        _ => None,
    };
    let axis_drop_mm = match b.cylinder.as_slice() {
        [first, second] => Some(shop::axis_drop_mm(first, second).map_err(usage)?),
        _ => None,
    };
    let centring = if b.jaws.is_empty() {
        None
    } else {
        Some(shop::centring(&b.jaws, b.within.value).map_err(usage)?)
    };
    if axis_below_face_mm.is_none() && axis_drop_mm.is_none() && centring.is_none() {
        return Err(Failure::Usage(
            "nothing to work out: give --cylinder twice, or once with --face, or --jaws".into(),
        ));
    }
    if b.how.json {
        return print_json(&BlankRecord {
            schema: "flanklight/blank/1",
            axis_below_face_mm,
            axis_drop_mm,
            centring,
        });
    }
    let units = b.how.units();
    // A reading given without ± is known to a hundredth at best.
    let show = |q: Quantity| {
        if q.u > 0.0 { text::quantity(Some(q), false, units) } else { units.plain(q.value, 2) }
    };
    let row = |q: Quantity, below: &'static str, above: &'static str| {
        let (name, q) = job::below_or_above(q, below, above);
        text::rows(&[(name, show(q))])
    };
    if let Some(q) = axis_below_face_mm {
        print(&row(q, "axis below the face", "axis above the face"));
    }
    if let Some(q) = axis_drop_mm {
        print(&row(q, "second axis below the first", "second axis above the first"));
    }
    if let Some(c) = centring {
        if axis_below_face_mm.or(axis_drop_mm).is_some() {
            print("\n");
        }
        print("Centring: move the work by half the difference of opposed readings.\n\n");
        for (i, m) in c.rounds.iter().enumerate() {
            print(&format!(
                "  round {}: off centre {}. {}\n",
                i + 1,
                units.plain(m.off_centre_mm, 3),
                job::jaw_move(m, units)
            ));
        }
        print(&format!("\n  {}\n", job::rounds_to_go(&c)));
        if let Some(part) = c.left_of_error {
            print(&format!("  The last move left {:.0} % of the error.\n", 100.0 * part));
        }
    }
    print("\n");
    print(&text::cautions(&[shop::About::Lathe]));
    Ok(())
}
