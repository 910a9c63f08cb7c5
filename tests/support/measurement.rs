//! The form of a measurement as JSON, `flanklight/measurement/1`, held field by field.

use serde_json::Value;

const SOURCES: &[&str] = &["measured", "entered", "assumed", "derived", "standard"];

const FORM: &[&str] = &[
    "pitch_mm",
    "lead_mm",
    "right_flank_deg",
    "left_flank_deg",
    "included_angle_deg",
    "depth_mm",
    "crest_flat_mm",
    "root_flat_mm",
    "crest_radius_mm",
    "root_radius_mm",
    "major_diameter_mm",
    "minor_diameter_mm",
    "pitch_diameter_mm",
];

/// Everything in which `value` departs from the format, a sentence each. Further fields may be
/// there; none of these may be missing.
#[must_use]
pub fn faults(value: &Value) -> Vec<String> {
    let mut f = Faults(Vec::new());
    f.must(value["schema"] == "flanklight/measurement/1", "schema");
    let picture = &value["picture"];
    f.must(picture["file"].is_string(), "picture.file");
    f.must(picture["width_px"].as_u64().is_some_and(|n| n > 0), "picture.width_px");
    f.must(picture["height_px"].as_u64().is_some_and(|n| n > 0), "picture.height_px");
    f.must(picture["outline"] == "shadow" || picture["outline"] == "line", "picture.outline");
    let mut told = f.quantity(value, "scale", "px_per_mm");
    let kind = &value["view"]["kind"];
    f.must(kind == "perspective" || kind == "parallel", "view.kind");
    for name in ["camera_distance_mm", "tilt_deg", "roll_deg"] {
        // Parallel light has no distance: that is no failure to tell.
        f.quantity(value, "view", name);
    }
    for name in FORM {
        told &= f.quantity(value, "form", name);
    }
    // One edge alone does not tell it, and the rest of the form is none the worse.
    f.quantity(value, "form", "taper");
    for name in ["starts", "hand"] {
        let choice = &value[name];
        if choice.is_null() {
            told = false;
            f.must(value.get(name).is_some(), name);
            continue;
        }
        f.probability(&choice["probability"], name);
        let good = match name {
            "starts" => choice["value"].as_u64().is_some_and(|n| (1..=16).contains(&n)),
            _ => choice["value"] == "right" || choice["value"] == "left",
        };
        f.must(good, &format!("{name}.value"));
    }
    f.probability(&value["no_standard_probability"], "no_standard_probability");
    let none = &Vec::new();
    f.must(value["candidates"].is_array(), "candidates");
    let mut sum = value["no_standard_probability"].as_f64().unwrap_or(0.0);
    for c in value["candidates"].as_array().unwrap_or(none) {
        f.must(c["designation"].is_string() && c["family"].is_string(), "candidates[].designation");
        f.probability(&c["probability"], "candidates[].probability");
        sum += c["probability"].as_f64().unwrap_or(0.0);
        f.must(c["deviations"].is_array(), "candidates[].deviations");
        for d in c["deviations"].as_array().unwrap_or(none) {
            let numbers = ["measured", "standard", "in_u"].iter().all(|n| d[*n].is_number());
            f.must(d["what"].is_string() && numbers, "candidates[].deviations[]");
        }
    }
    f.must(sum <= 1.0 + 1e-6, "the probabilities sum to more than 1");
    f.must(value["warnings"].is_array(), "warnings");
    let warnings = value["warnings"].as_array().unwrap_or(none);
    for w in warnings {
        f.must(w["code"].is_string() && w["text"].is_string(), "warnings[]");
    }
    f.must(told || !warnings.is_empty(), "null without a warning that says why");
    f.0
}

struct Faults(Vec<String>);

impl Faults {
    fn must(&mut self, good: bool, what: &str) {
        if !good {
            self.0.push(format!("{what} is not as the format has it"));
        }
    }

    fn probability(&mut self, value: &Value, what: &str) {
        let good = value.as_f64().is_some_and(|p| (0.0..=1.0).contains(&p));
        self.must(good, &format!("{what} (a probability)"));
    }

    /// Whether the quantity is told; it must be there or be `null`.
    fn quantity(&mut self, value: &Value, group: &str, name: &str) -> bool {
        let Some(q) = value.get(group).and_then(|g| g.get(name)) else {
            self.0.push(format!("{group}.{name} is missing"));
            return false;
        };
        if q.is_null() {
            return false;
        }
        let good = q["value"].is_number()
            && q["u"].as_f64().is_some_and(|u| u >= 0.0)
            && q["source"].as_str().is_some_and(|s| SOURCES.contains(&s));
        self.must(good, &format!("{group}.{name}"));
        good
    }
}
