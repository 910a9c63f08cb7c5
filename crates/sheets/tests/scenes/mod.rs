//! Inputs for the sheets: several forms, both papers, both systems of units, long names.
#![allow(dead_code, reason = "each test file uses some of it")]

use form::{Hand, Quantity, Source, Units};
use sheets::{
    BenchPart, BenchSheet, Candidate, Dash, FlankSide, GearTrain, JobSheet, NutBody, NutDrawing,
    OtherTrain, Overlay, Paper, Pass, PictureBytes, RecordPicture, RecordSheet, Row, ShadowChart,
    ShadowEdge, SheetInfo, SideClearance, Station, SurveySheet, Toleranced, ToolForm, ToolTemplate,
    Value, WheelsSheet,
};
use std::sync::Arc;

pub const LONG_NAME: &str = "Floor loom, warp beam tension screw, second of the pair, with the \
    worn middle third and the unworn ends, measured again after cleaning with paraffin and a stiff \
    brass brush because the first picture showed lint";

pub fn info(paper: Paper, units: Units, job: &str) -> SheetInfo {
    SheetInfo {
        job: job.into(),
        date: "14 March 2031".into(),
        made_by: "Flanklight 0.1.0".into(),
        units,
        paper,
        cautions: vec![
            "The loom's beam is under load: let the warp off before the screw is taken out.".into(),
        ],
        thread_use: shop::UseOfThread::MovesOrAdjusts,
    }
}

/// A tool by pitch, right and left flank, tip flat, radius and depth.
pub fn tool(right: f64, left: f64, flat: f64, radius: f64, depth: f64) -> ToolForm {
    ToolForm {
        right_flank_deg: Quantity::measured(right, 0.034),
        left_flank_deg: Quantity::measured(left, 0.041),
        tip_flat_mm: Quantity::derived(flat, 0.006),
        corner_radius_mm: if radius > 0.0 {
            Quantity::measured(radius, 0.011)
        } else {
            Quantity::assumed(0.0, 0.0)
        },
        depth_mm: Quantity::derived(depth, 0.008),
        included_angle_deg: None,
    }
}

pub fn trapezoid_4() -> ToolForm {
    tool(15.021, 14.987, 1.395, 0.0, 2.25)
}
pub fn sixty_1() -> ToolForm {
    tool(30.04, 29.93, 0.125, 0.05, 0.613)
}
pub fn buttress_35() -> ToolForm {
    tool(7.03, 44.9, 0.92, 0.12, 2.1)
}
pub fn tiny_05() -> ToolForm {
    tool(29.6, 30.3, 0.0625, 0.0, 0.307)
}
pub fn huge_12() -> ToolForm {
    tool(15.0, 15.0, 4.39, 0.35, 6.5)
}
pub fn square_6() -> ToolForm {
    tool(0.0, 0.0, 3.02, 0.0, 3.1)
}

pub fn template(form: ToolForm) -> ToolTemplate {
    ToolTemplate {
        subject: "nut tool (copies the screw's ridge)".into(),
        form,
        leading: FlankSide::Left,
        clearance: SideClearance {
            lead_angle_deg: Quantity::derived(4.55, 0.02),
            leading_deg: Quantity::derived(8.5, 0.1),
            following_deg: Quantity::derived(1.2, 0.1),
            front_deg: Quantity::assumed(8.0, 0.0),
        },
        view: "Seen from above on the rake face, tip up. Tool set square to the axis, its edge at \
               centre height, flat top."
            .into(),
        rows: vec![
            Row::length("Pitch", Quantity::measured(4.000_3, 0.000_4)),
            Row::words("Hand, starts", "right, 1", Source::Measured),
            Row::angle("Top rake", Quantity::assumed(0.0, 0.0)),
        ],
        notes: vec!["Least clearance of the side faces against the cut flank: 0.11 mm.".into()],
        magnification: None,
    }
}

/// Every tool form with a name and the pitch it belongs to, mm.
pub fn forms() -> Vec<(&'static str, f64, ToolForm)> {
    vec![
        ("trapezoid-4", 4.0, trapezoid_4()),
        ("sixty-1", 1.0, sixty_1()),
        ("buttress-35", 3.5, buttress_35()),
        ("tiny-05", 0.5, tiny_05()),
        ("huge-12", 12.0, huge_12()),
        ("square-6", 6.0, square_6()),
    ]
}

pub fn job(pitch: f64, tool: ToolForm, passes: usize) -> JobSheet {
    let depth = tool.depth_mm.value;
    JobSheet {
        subject: "bronze nut for the mast screw".into(),
        thread: vec![
            Row::length("Pitch", Quantity::measured(pitch, 0.000_4)),
            Row::length("Lead", Quantity::derived(pitch, 0.000_4)),
            Row::words("Starts", "1", Source::Measured),
            Row::words("Hand", "right", Source::Measured),
            Row::length("Major Ø", Quantity::measured(6.0 * pitch, 0.012)),
            Row::length("Pitch Ø", Quantity::derived(5.5 * pitch, 0.02)),
        ],
        gears: Some(GearTrain {
            drivers: vec![40, 120],
            driven: vec![50, 127],
            lead_screw: "8 tpi".into(),
            pitch_cut_mm: Quantity::derived(pitch, 0.0),
            error_ppm: -125.0,
            error_over_mm: Quantity::derived(-0.003_75, 0.000_1),
            over_mm: None,
            notes: vec!["Meshes on the bracket with a 60 idler. Half nuts stay closed.".into()],
        }),
        blank: vec![
            Row::length("Bore Ø", Quantity::derived(5.03 * pitch, 0.02)),
            Row::length("Groove Ø", Quantity::derived(6.12 * pitch, 0.02)),
            Row::length("Length of thread", Quantity::entered(30.0, 0.0)),
            Row::length("Infeed from the bore", tool.depth_mm),
        ],
        tool,
        leading: FlankSide::Left,
        tool_setting: "set square to the axis, edge at centre height".into(),
        passes: (1..=passes)
            .map(|i| {
                let t = i as f64 / passes as f64;
                let last = i == passes;
                Pass {
                    cut_mm: if last { 0.0 } else { depth / passes as f64 / (0.5 + t) },
                    depth_mm: depth * t.sqrt(),
                    dial: format!("{:.2}", 2.0 * depth * t.sqrt()),
                    note: if last { "spring".into() } else { String::new() },
                    try_on: i + 2 == passes,
                }
            })
            .collect(),
        order: vec![
            "Face the blank; mark its tailstock end, and the nut's later.".into(),
            "Bore through.".into(),
            "Touch the bore, dial to 0. Scratch cut: check the pitch.".into(),
            "Passes, each depth come to from the same side. Try the screw.".into(),
            "Chamfer both ends; part off.".into(),
        ],
        dial: "cross slide, reads diameter, 0.02 mm a division".into(),
        play: vec![
            Row::length("Axial play", Quantity::derived(0.081, 0.012)),
            Row {
                name: "Play per infeed".into(),
                value: Value::Other {
                    quantity: Quantity::derived(0.536, 0.002),
                    unit: "",
                    decimals: 3,
                },
            },
            Row::length("Radial float", Quantity::derived(0.25, 0.02)),
        ],
        checks: vec![
            Row::length("Best wire", Quantity::derived(0.5176 * pitch, 0.0)),
            Row::length("Over wires (screw)", Quantity::derived(6.4 * pitch, 0.014)),
            Row::length("Plug gauge, goes", Quantity::derived(5.03 * pitch, 0.01)),
        ],
        remarks: vec![
            "Lock the slide whose nut is being made and feed with the other one.".into(),
            "Run-out groove at the far end: one pitch wide, to groove depth.".into(),
        ],
    }
}

fn toleranced(size: f64, u: f64, upper: f64, lower: f64) -> Toleranced {
    Toleranced { size_mm: Quantity::derived(size, u), upper_mm: upper, lower_mm: lower }
}

pub fn nut(pitch: f64, groove: ToolForm, body: NutBody) -> NutDrawing {
    let bore = 5.0 * pitch.max(1.0);
    let depth = groove.depth_mm.value;
    NutDrawing {
        subject: "bronze nut for the mast screw".into(),
        body,
        outer_diameter_mm: toleranced(2.0 * bore, 0.0, 0.0, -0.1),
        length_mm: toleranced(1.6 * bore, 0.0, 0.2, -0.2),
        chamfer_mm: 0.3 * depth,
        bore_mm: toleranced(bore, 0.02, 0.05, 0.0),
        groove_diameter_mm: toleranced(bore + 2.0 * depth, 0.02, 0.1, 0.0),
        groove,
        pitch_mm: Quantity::measured(pitch, 0.000_4),
        starts: 1,
        hand: Hand::Right,
        winding_source: Source::Measured,
        rows: vec![
            Row::words("Material", "tin bronze", Source::Entered),
            Row::length("Axial play with the screw", Quantity::derived(0.08, 0.012)),
        ],
        notes: vec![
            "Prove on the screw over its whole travel before the outside is finished.".into(),
        ],
    }
}

pub fn chart(pitch: f64, tool: ToolForm) -> ShadowChart {
    let mut line = Vec::new();
    let depth = tool.depth_mm.value;
    for i in -3..=3 {
        let at = pitch * f64::from(i);
        // Ridges of the tool's form side by side.
        let edge = tool.edge(depth);
        line.extend(edge.flattened(0.001).into_iter().map(|p| [p.x + at, p.y]));
    }
    let shifted = |dy: f64| line.iter().map(|p| [p[0], p[1] + dy]).collect::<Vec<_>>();
    let limits_mm = vec![shifted(0.02 * pitch), shifted(-0.02 * pitch)];
    ShadowChart {
        subject: "mast screw".into(),
        edges: vec![
            ShadowEdge { name: "upper edge".into(), line_mm: line.clone(), limits_mm },
            ShadowEdge {
                name: "lower edge".into(),
                line_mm: line.iter().map(|p| [p[0] + 0.5 * pitch, -p[1]]).collect(),
                limits_mm: Vec::new(),
            },
        ],
        pitch_mm: pitch,
        magnification: None,
        view: "Parallel view, square to the axis; axis level.".into(),
        rows: vec![
            Row::length("Pitch", Quantity::measured(pitch, 0.000_4)),
            Row::angle("Right flank", tool.right_flank_deg),
            Row::angle("Left flank", tool.left_flank_deg),
            Row::length("Depth", tool.depth_mm),
        ],
        notes: vec!["Limits: two standard uncertainties of the form.".into()],
    }
}

/// A dark screw and a dark bar on light ground, as a grey PNG of 640 × 400 pixels.
#[expect(clippy::expect_used, reason = "a test stops when its scene cannot be made")]
pub fn picture() -> PictureBytes {
    let (w, h) = (640usize, 400usize);
    let mut grey = vec![225u8; w * h];
    for y in 0..h {
        for x in 0..w {
            let phase = (x as f64 / 40.0).fract();
            let edge = (4.0 * (phase - 0.5).abs() - 1.0).clamp(-0.6, 0.6) / 0.6;
            let radius = 70.0 + 12.0 * edge;
            let screw = (y as f64 - 150.0).abs() < radius;
            let bar = (y as f64 - 330.0).abs() < 30.0;
            if screw || bar {
                grey[y * w + x] = 28;
            }
        }
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, w as u32, h as u32);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(&grey).expect("pixels");
    writer.finish().expect("an end");
    PictureBytes::Png(Arc::new(bytes))
}

pub fn record(candidates: usize) -> RecordSheet {
    let upper: Vec<[f64; 2]> = (0..640)
        .map(|x| {
            let phase = (f64::from(x) / 40.0).fract();
            let edge = (4.0 * (phase - 0.5).abs() - 1.0).clamp(-0.6, 0.6) / 0.6;
            [f64::from(x), 80.0 - 12.0 * edge]
        })
        .collect();
    let lower = upper.iter().map(|p| [p[0], 300.0 - p[1]]).collect();
    let level = |y: f64| vec![[0.0, y], [640.0, y]];
    RecordSheet {
        subject: "mast screw".into(),
        picture: Some(RecordPicture {
            bytes: picture(),
            width_px: 640.0,
            height_px: 400.0,
            name: "mast-screw-backlit.png".into(),
        }),
        overlays: vec![
            Overlay { name: "edge found".into(), points_px: upper, dash: Dash::Solid },
            Overlay { name: "edge found".into(), points_px: lower, dash: Dash::Solid },
            Overlay { name: "bar".into(), points_px: level(300.0), dash: Dash::Dashed },
            Overlay { name: "bar".into(), points_px: level(360.0), dash: Dash::Dashed },
        ],
        form: vec![
            Row::length("Pitch", Quantity::measured(4.000_31, 0.000_42)),
            Row::angle("Right flank", Quantity::measured(15.021, 0.034)),
            Row::angle("Left flank", Quantity::measured(14.987, 0.041)),
            Row::length("Depth", Quantity::measured(2.251, 0.008)),
            Row::length("Crest flat", Quantity::measured(1.463, 0.006)),
            Row::length("Root flat", Quantity::measured(1.331, 0.009)),
            Row::length("Crest radius", Quantity::measured(0.0, f64::INFINITY)),
            Row::length("Major Ø", Quantity::measured(24.003, 0.012)),
            Row::length("Minor Ø", Quantity::measured(19.501, 0.018)),
            Row::words("Hand", "right (99 %)", Source::Measured),
        ],
        view: vec![
            Row {
                name: "Scale".into(),
                value: Value::Other {
                    quantity: Quantity::measured(50.012, 0.021),
                    unit: "px/mm",
                    decimals: 3,
                },
            },
            Row::length("Bar width", Quantity::entered(6.0, 0.005)),
            Row::length("Camera distance", Quantity::measured(219.3, 1.2)),
            Row::angle("Tilt", Quantity::measured(0.51, 0.03)),
        ],
        candidates: (0..candidates)
            .map(|i| Candidate {
                designation: format!("Tr {} × 4", 24 + i),
                probability: if i == 0 { 0.83 } else { 0.11 / (i as f64 * 10.0) },
                remark: if i == 0 {
                    "within two standard uncertainties in every dimension".into()
                } else {
                    format!("major diameter off by {} standard uncertainties", 80 * i)
                },
            })
            .collect(),
        no_standard_probability: 0.06,
        warnings: vec![
            "Radii at the crest cannot be told from this picture: the edge is blurred over \
             0.05 mm."
                .into(),
            "The bar lies 9 mm farther from the camera than the axis; the scale was corrected."
                .into(),
        ],
        notes: vec!["Cleaned with paraffin; unworn end, beyond the travel.".into()],
    }
}

pub fn survey(stations: usize) -> SurveySheet {
    SurveySheet {
        subject: "warp beam tension slide".into(),
        end_float_mm: Quantity::measured(0.082, 0.008),
        stations: (0..stations)
            .map(|i| {
                let t = i as f64 / (stations - 1) as f64;
                let wear = 0.21 * (-(t - 0.45).powi(2) / 0.04).exp();
                Station {
                    position_mm: 400.0 * t,
                    total_mm: Quantity::measured(0.082 + 0.11 + wear, 0.012),
                    nut_mm: Quantity::derived(0.11, 0.015),
                    screw_mm: Quantity::derived(wear, 0.017),
                    forecast_mm: Quantity::derived(0.082 + 0.06 + wear, 0.02),
                }
            })
            .collect(),
        rows: vec![
            Row::length("Nut alone (least)", Quantity::derived(0.11, 0.015)),
            Row::length("Screw wear (most)", Quantity::derived(0.21, 0.017)),
        ],
        verdict:
            "Adjust the thrust collar first; then a new nut. The screw will still show 0.2 mm \
                  in the middle."
                .into(),
        reasons: vec![
            "End-float alone is 0.08 mm, a quarter of what the dial shows at the ends.".into(),
            "The least used end shows 0.11 mm in the thread: that is the nut and its clearance."
                .into(),
            "The middle adds up to 0.21 mm that no nut can take away.".into(),
        ],
    }
}

/// Wheels by themselves; with an idler where there are two.
pub fn wheels(drivers: &[u32], driven: &[u32], others: usize) -> WheelsSheet {
    let idler = (drivers.len() == 1).then_some(65);
    WheelsSheet {
        subject: "3 mm from a lead screw of 8 tpi".into(),
        train: GearTrain {
            drivers: drivers.to_vec(),
            driven: driven.to_vec(),
            lead_screw: "8 tpi".into(),
            pitch_cut_mm: Quantity::derived(2.999_625, 0.0),
            error_ppm: -125.0,
            error_over_mm: Quantity::derived(-0.003_125, 0.0),
            over_mm: Some(25.0),
            notes: vec!["Half nuts stay closed until the thread is done.".into()],
        },
        idler,
        module_mm: Quantity::assumed(1.5, 0.0),
        owned: vec![20, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 100, 120, 127],
        rows: vec![
            Row::length("Lead wanted", Quantity::entered(3.0, 0.0)),
            Row::words("Trains within 3000 ppm", "17", Source::Derived),
        ],
        others: (0..others)
            .map(|i| OtherTrain {
                drivers: vec![40, 120 - i as u32],
                driven: vec![50, 127],
                idler: None,
                pitch_cut_mm: Quantity::derived(3.0 + 0.000_1 * i as f64, 0.0),
                error_ppm: 33.3 * i as f64,
                error_over_mm: Quantity::derived(0.000_83 * i as f64, 0.0),
                half_nuts: "every 24 turns".into(),
            })
            .collect(),
        notes: vec![
            "One idler more or less, or the tumbler, turns the hand round: turn by hand and watch \
             which way the saddle goes."
                .into(),
        ],
    }
}

/// Trains of two, of four, of six; the largest and the smallest wheels.
pub const TRAINS: [(&[u32], &[u32]); 6] = [
    (&[120], &[127]),
    (&[40, 63], &[50, 80]),
    (&[40, 120, 20], &[80, 127, 65]),
    (&[20], &[20]),
    (&[254, 200], &[240, 250]),
    (&[12, 12], &[12, 12]),
];

/// The blank, the wires and a name, with much or little to say.
pub fn bench(candidates: usize) -> BenchSheet {
    BenchSheet {
        title: "Setting out the blank".into(),
        about: vec![shop::About::Lathe],
        parts: vec![
            BenchPart::Numbers(
                "Axes".into(),
                vec![
                    Row::length("Axis below the face", Quantity::derived(17.69, 0.011)),
                    Row::length("Second axis below the first", Quantity::derived(18.21, 0.014)),
                ],
            ),
            BenchPart::Points(
                "Centring".into(),
                (1..=candidates)
                    .map(|i| format!("Round {i}: off centre 0.180 mm; move 0.150 mm from jaw 1."))
                    .collect(),
            ),
            BenchPart::Passes(
                "cross slide, movement, 0.02 mm × 100 a turn".into(),
                job(4.0, trapezoid_4(), candidates).passes,
            ),
            BenchPart::Candidates(record(candidates).candidates, 0.06),
        ],
    }
}
