//! From the best fit to what the person is told.

use crate::data::On;
use crate::measure::{Best, FULLY_ROUNDED, FitError, Setting};
use crate::measurement::{
    Chosen, FORM_PARAMETERS, FormFound, Measurement, Residual, ViewFound, Warning,
};
use crate::model::Model;
use crate::params::{Param, Params};
use crate::problem::Belief;
use crate::seen::{LEAST_SEEN, is_hidden, seen_on};
use crate::uncertainty::{Gradient, UOf, Uncertainty};
use crate::{budget, teeth};
use form::shadow::Edge;
use form::{Hand, Piece, Profile, Quantity, Source, mm, sentence};
use std::collections::BTreeMap;

/// A probability below which hand or starts are called "cannot tell".
const TELLABLE: f64 = 0.8;

/// Logarithm of the ratio of two distances of the camera, by focal length and by shadow, from which they
/// contradict each other: what makers call the focal length is right to a seventh.
const FOCAL_CONTRADICTS: f64 = 0.4;

/// Part of the depth over which a flank must be seen to count as shown.
const FLANK_SHOWS: f64 = 0.2;
/// Tangent of a flank angle that no crest hides: the lead angle of a fast screw.
const STEEPEST_HIDDEN: f64 = 0.32;

/// Quantities that are functions of the parameters, by the names of [`FormFound`].
pub(crate) type Function = (&'static str, Box<dyn Fn(&Params) -> f64>);

/// Right and left flank angle from the normal to the axis, radians: those of the section as it stands
/// on its cone.
pub(crate) fn flanks_rad(p: &Params) -> (f64, f64) {
    let rise = 0.5 * p[Param::Taper];
    let (right, left) = (p[Param::TanRight].abs(), p[Param::TanLeft].abs());
    ((right / (1.0 - rise * right)).atan(), (left / (1.0 + rise * left)).atan())
}

pub(crate) fn functions(starts: f64) -> Vec<Function> {
    let tans = |p: &Params| p[Param::TanRight].abs() + p[Param::TanLeft].abs();
    let f = |name, f: Box<dyn Fn(&Params) -> f64>| -> Function { (name, f) };
    vec![
        f("pitch_mm", Box::new(|p| p[Param::Pitch])),
        f("lead_mm", Box::new(move |p| p[Param::Pitch] * starts)),
        f("right_flank_deg", Box::new(|p| flanks_rad(p).0.to_degrees())),
        f("left_flank_deg", Box::new(|p| flanks_rad(p).1.to_degrees())),
        f("included_angle_deg", Box::new(|p| (flanks_rad(p).0 + flanks_rad(p).1).to_degrees())),
        f("depth_mm", Box::new(|p| p[Param::Depth])),
        f("crest_flat_mm", Box::new(|p| p[Param::CrestFlat])),
        f(
            "root_flat_mm",
            Box::new(move |p| p[Param::Pitch] - p[Param::CrestFlat] - p[Param::Depth] * tans(p)),
        ),
        f("major_diameter_mm", Box::new(|p| 2.0 * p[Param::CrestR])),
        f("minor_diameter_mm", Box::new(|p| 2.0 * (p[Param::CrestR] - p[Param::Depth]))),
        f(
            "pitch_diameter_mm",
            Box::new(move |p| {
                let t = tans(p).max(1e-6);
                2.0 * (p[Param::CrestR] - (0.5 * p[Param::Pitch] - p[Param::CrestFlat]) / t)
            }),
        ),
    ]
}

pub(crate) fn report(setting: &Setting<'_>, best: &Best) -> Result<Measurement, FitError> {
    let o = &best.outcome;
    let p = &o.params;
    let uncertainty = Uncertainty::with_free(best, o.free.clone(), setting).ok_or_else(|| {
        FitError::TooLittle(
            "the outline does not hold enough to tell form, view and scale apart; show \
                     more teeth, or both edges of the thread"
                .into(),
        )
    })?;
    let u_of = |f: &dyn Fn(&Params) -> f64| uncertainty.of(&Gradient::of(f, p));
    let starts = o.frame.signed_starts.abs();
    let functions = functions(starts);
    let mut found: BTreeMap<&'static str, Quantity> =
        functions.iter().map(|(name, f)| (*name, Quantity::measured(f(p), u_of(f)))).collect();
    // Nothing but what was believed beforehand: the edges say nothing of the pitch.
    if let Some(pitch) =
        found.get("pitch_mm").filter(|q| q.u.is_nan() || q.u > MOST_PITCH_U * q.value)
    {
        return Err(FitError::TooLittle(format!(
            "the pitch cannot be told from these edges to better than {:.0} % (limit {:.0} %); show \
             more teeth, and sharper",
            (100.0 * pitch.u / pitch.value).min(999.0),
            100.0 * MOST_PITCH_U
        ).into()));
    }
    let mut warnings = Vec::new();
    roundings(setting, best, &u_of, &mut found);
    cannot_tell(setting, best, &mut found, &mut warnings);
    if !found.contains_key("major_diameter_mm") {
        unknown_distance(setting, p, &mut found);
        for (name, f) in &functions {
            let Some(q) = found.get_mut(name) else { continue };
            let off = best.other_diameters.iter().map(|other| (f(other) - q.value).abs());
            // The ends of a range in which the truth lies somewhere (JCGM 100, 4.3.7).
            q.u = q.u.hypot(off.fold(0.0, f64::max) / 3f64.sqrt());
        }
    }
    for (name, f) in &functions {
        if let Some(q) = found.get_mut(name) {
            q.u = q.u.hypot(of_other_starts(best, f));
        }
    }
    let misfit = misfit(setting, best, &mut warnings);
    let teeth = teeth::teeth(best, &u_of);
    let drawn = setting.sighting.drawn;
    let u_flat_mm = u_of(&|p| p[Param::CrestFlat]);
    let excess = misfit * teeth::too_thick(&teeth, drawn, u_flat_mm, &mut warnings);
    for q in found.values_mut() {
        q.u *= excess;
    }
    too_vague(&mut found, p[Param::Pitch], &mut warnings);
    let u_of = |f: &dyn Fn(&Params) -> f64| excess * u_of(f);
    let taper = crate::lean::taper(setting, best, excess, &mut warnings);
    let view = view(setting, best, &u_of, &mut warnings);
    let told = HandTold { by_view: view.perspective, by_fit: misfit == 1.0 };
    let (starts, hand) = choices(setting, best, told, &mut warnings);
    if starts.is_none() {
        found.remove("lead_mm");
    }
    let get = |name: &str| found.get(name).copied();
    let form = FormFound {
        pitch_mm: get("pitch_mm"),
        lead_mm: get("lead_mm"),
        right_flank_deg: get("right_flank_deg"),
        left_flank_deg: get("left_flank_deg"),
        included_angle_deg: get("included_angle_deg"),
        depth_mm: get("depth_mm"),
        crest_flat_mm: get("crest_flat_mm"),
        root_flat_mm: get("root_flat_mm"),
        crest_radius_mm: get("crest_radius_mm"),
        root_radius_mm: get("root_radius_mm"),
        major_diameter_mm: get("major_diameter_mm"),
        minor_diameter_mm: get("minor_diameter_mm"),
        pitch_diameter_mm: get("pitch_diameter_mm"),
        taper,
    };
    teeth::wear_warnings(&teeth, drawn, &mut warnings);
    for notice in setting.sighting.bar.notices.iter().chain(&setting.sighting.thread.notices) {
        warnings.push(Warning {
            code: notice.code,
            text: notice.text.as_str().into(),
            at_px: notice.at.map(|b| (b.x, b.y, b.w, b.h)),
        });
    }
    Ok(Measurement {
        px_per_mm: Quantity::measured(p[Param::Scale], u_of(&|p| p[Param::Scale])),
        view,
        form,
        diameters_at_px: setting.frame.pivot,
        correlation: correlation(&uncertainty, &functions, p),
        starts,
        hand,
        shadow_px: shadow_px(best),
        section_px: section_px(setting, best),
        bar_px: bar_px(setting, best),
        residuals: residuals(best),
        straight: crate::straight::read(setting),
        teeth,
        budget: budget::budget(setting, best, &uncertainty, excess, &functions),
        warnings,
    })
}

/// Correlation coefficients of the form's numbers. Radii are taken as independent of the rest: they
/// are seen at corners, by themselves.
fn correlation(
    uncertainty: &Uncertainty,
    functions: &[Function],
    p: &Params,
) -> [[f64; FORM_PARAMETERS.len()]; FORM_PARAMETERS.len()] {
    let gradients = FORM_PARAMETERS
        .map(|name| functions.iter().find(|f| f.0 == name).map(|f| Gradient::of(&f.1, p)));
    let mut rho = [[0.0; FORM_PARAMETERS.len()]; FORM_PARAMETERS.len()];
    for (i, row) in rho.iter_mut().enumerate() {
        for (j, value) in row.iter_mut().enumerate() {
            *value = match (&gradients[i], &gradients[j]) {
                _ if i == j => 1.0,
                (Some(a), Some(b)) => {
                    let (ua, ub) = (uncertainty.of(a), uncertainty.of(b));
                    if ua > 0.0 && ub > 0.0 {
                        (uncertainty.between(a, b) / (ua * ub)).clamp(-1.0, 1.0)
                    } else {
                        0.0
                    }
                }
                _ => 0.0,
            };
        }
    }
    rho
}

/// Radii: as fitted, or none with the largest that the blur would have hidden.
fn roundings(
    setting: &Setting<'_>,
    best: &Best,
    u_of: UOf<'_>,
    found: &mut BTreeMap<&'static str, Quantity>,
) {
    let o = &best.outcome;
    let section = *o.evaluated.model.profile.section();
    let unresolved = best.unresolved;
    for (param, name, flat_name, flat, perhaps_mm) in [
        (
            Param::CrestRound,
            "crest_radius_mm",
            "crest_flat_mm",
            section.crest_flat_mm(),
            unresolved.crest_mm,
        ),
        (
            Param::RootRound,
            "root_radius_mm",
            "root_flat_mm",
            section.root_flat_mm(),
            unresolved.root_mm,
        ),
    ] {
        let (largest, flat_now) = (section.largest_radius_mm(flat), flat);
        let fraction = crate::model::folded(o.params[param]);
        let radius_mm = fraction * largest;
        let radius = move |p: &Params| {
            let flat = match param {
                Param::CrestRound => p[Param::CrestFlat],
                _ => {
                    let tans = p[Param::TanRight].abs() + p[Param::TanLeft].abs();
                    p[Param::Pitch] - p[Param::CrestFlat] - p[Param::Depth] * tans
                }
            };
            crate::model::folded(p[param]) * largest * flat / flat_now.max(1e-9)
        };
        let q = if o.free.contains(&param) {
            Quantity::measured(radius_mm, u_of(&radius))
        } else if fraction > 0.0 {
            // Held at the largest that fits: as well as the corners tell it, with what they told
            // before; at worst what a flat too small to be seen would leave open.
            let unseen = u_of(&radius).hypot((1.0 - FULLY_ROUNDED) * largest / 3f64.sqrt());
            let free = o.free.iter().copied().chain([param]).collect();
            // No slope can be taken at the largest itself, where the fraction is folded back.
            let inside = Gradient::of(&radius, &o.params.moved(param, -0.01));
            let told = Uncertainty::with_free(best, free, setting)
                .map_or(f64::INFINITY, |u| u.of(&inside).hypot(perhaps_mm));
            Quantity::measured(radius_mm, unseen.min(told))
        } else {
            // Nothing but blur rounds this corner: a radius of about a blur would not be seen, nor
            // one that was tried for and made little difference.
            let hidden = (setting.blur_px / o.params[Param::Scale]).max(perhaps_mm);
            // What fits is as uncertain as the flat that it must fit.
            Quantity::measured(0.0, hidden.min(largest).hypot(found[flat_name].u))
        };
        let u = q.u.hypot(of_other_starts(best, &radius));
        found.insert(name, Quantity { u, ..q });
    }
}

/// Removes what the data do not tell, with the reason.
fn cannot_tell(
    setting: &Setting<'_>,
    best: &Best,
    found: &mut BTreeMap<&'static str, Quantity>,
    warnings: &mut Vec<Warning>,
) {
    let (data, o) = (&best.data, &best.outcome);
    for (name, flank, param) in [
        ("right_flank_deg", Piece::FlankRight, Param::TanRight),
        ("left_flank_deg", Piece::FlankLeft, Param::TanLeft),
    ] {
        let held = !o.free.contains(&param);
        if held || is_hidden(data, o, flank) || found[name].u > 10.0 {
            for name in [name, "included_angle_deg", "pitch_diameter_mm"] {
                found.remove(name);
            }
            // Nor is it known how far the root reaches under it, and what radius fits there.
            let reach_u = o.params[Param::Depth] * most_hidden_tan(best, flank) / 3f64.sqrt();
            let flat_mm = found.get("root_flat_mm").map_or(0.0, |q| q.value);
            if let Some(q) = found.get_mut("root_flat_mm") {
                q.u = q.u.hypot(reach_u);
            }
            if let Some(q) = found.get_mut("root_radius_mm").filter(|_| flat_mm > 0.0) {
                let held = !o.free.contains(&Param::RootRound);
                let part = if held { 1.0 / 3f64.sqrt() } else { reach_u / flat_mm };
                q.u = q.u.hypot(q.value * part);
            }
            warnings.push(Warning::new(
                "flank-hidden",
                format!(
                    "The {} flank cannot be seen in this shadow: the corner of the crest hides it, \
                     as on square and nearly square threads. Its angle cannot be told; look at the \
                     end of the screw, or cast a replica.",
                    name.split('_').next().unwrap_or_default()
                ),
            ));
        }
    }
    if !found.contains_key("right_flank_deg") && !found.contains_key("left_flank_deg") {
        // The corners that hide the flanks hide what is under them.
        found.remove("root_radius_mm");
    }
    if seen_on(data, o, Piece::is_root).0 < LEAST_SEEN {
        for name in ["depth_mm", "root_flat_mm", "root_radius_mm", "minor_diameter_mm"] {
            found.remove(name);
        }
        warnings.push(Warning::new(
            "root-hidden",
            "The root cannot be seen in this shadow: the flanks meet above it, or nothing clean of \
             it was found. Depth, root flat and minor diameter cannot be told from this picture; \
             measure the minor diameter another way.",
        ));
    }
    if let Some(d) = found.get("major_diameter_mm").copied()
        && (setting.tells_no_diameter() || d.u > 0.05 * d.value)
    {
        for name in ["major_diameter_mm", "minor_diameter_mm", "pitch_diameter_mm"] {
            found.remove(name);
        }
        let why = if setting.one_edge.is_some() {
            "One edge alone does not tell the diameter."
        } else {
            "Too little of the crests is sharp enough to tell the diameter: what there is of them lies \
             within the blur of their corners."
        };
        warnings.push(Warning::new(
            "diameter-unknown",
            format!(
                "{why} Measure it with a micrometer and enter it as the major diameter; form and \
                 camera become better known as well."
            ),
        ));
    }
    // Of a traced picture, the outline says so itself.
    let said = setting.sighting.thread.notices.iter().any(|n| n.code == "one-edge");
    if setting.one_edge.is_some() && !said {
        warnings.push(Warning::new(
            "one-edge",
            "Only one edge of the thread was measured. Angles, hand and starts are less certain \
             than from both edges, and the thread is taken as parallel: a taper of 1:16 \
             would turn both flanks by 1.8°, one way each.",
        ));
    }
    if found.get("pitch_diameter_mm").is_some_and(|d| d.u > 0.05 * d.value) {
        found.remove("pitch_diameter_mm");
    }
}

/// Probability from which another hand or number of starts counts as possible.
const NOT_RULED_OUT: f64 = 0.002;

/// Standard uncertainty of the pitch, as a part of it, from which nothing was measured.
const MOST_PITCH_U: f64 = 0.3;

/// Without a diameter the distance of the eye hangs on a guess, further off than a first-order
/// uncertainty reaches: the scale is then as uncertain as the distance was believed to be beforehand,
/// at the depth at which the bar lies.
fn unknown_distance(
    setting: &Setting<'_>,
    p: &Params,
    found: &mut BTreeMap<&'static str, Quantity>,
) {
    let believed = setting.priors.iter().find_map(|q| match q.belief {
        Belief::Near(Param::InverseDistance, _) => Some(q.sd),
        _ => None,
    });
    let Some(sd) = believed else { return };
    let relative = sd * p[Param::BarDrop].abs();
    for (name, q) in found.iter_mut() {
        if name.ends_with("_mm") {
            q.u = q.u.hypot(relative * q.value.abs());
        }
    }
}

/// Removes numbers in so much doubt that they say nothing: pitch and diameters by half of themselves,
/// what makes up the form by half a pitch, an angle by [`VAGUE_DEG`].
fn too_vague(
    found: &mut BTreeMap<&'static str, Quantity>,
    pitch_mm: f64,
    warnings: &mut Vec<Warning>,
) {
    let before = found.len();
    found.retain(|name, q| {
        let most = match *name {
            name if name.ends_with("_deg") => VAGUE_DEG,
            "pitch_mm" | "lead_mm" | "major_diameter_mm" | "minor_diameter_mm"
            | "pitch_diameter_mm" => 0.5 * q.value.abs(),
            _ => 0.5 * pitch_mm,
        };
        q.value.is_finite() && q.u <= most
    });
    if !found.contains_key("pitch_mm") {
        found.clear();
    }
    if found.len() < before {
        warnings.push(Warning::new(
            "too-vague",
            "Numbers that are in doubt by half of themselves are not given: too little of the \
             thread fits any shadow. See the other warnings for what would help.",
        ));
    }
}

/// Tangent of the steepest angle at which a hidden flank would still be hidden: the shadow is computed
/// at steeper and steeper ones until the flank shows.
fn most_hidden_tan(best: &Best, flank: Piece) -> f64 {
    let o = &best.outcome;
    let param = if flank == Piece::FlankRight { Param::TanRight } else { Param::TanLeft };
    let shown = |tan: f64| {
        let mut params = o.params;
        params[param] = tan;
        let Some(model) = Model::new(&params, &o.frame) else { return true };
        [Edge::Upper, Edge::Lower].into_iter().any(|edge| {
            let outline = model.outline(edge, 0..=0, 0.02 * params[Param::Pitch]);
            let depth_seen = |s: &form::shadow::Segment| {
                let of_flank = outline.piece_at(s, 0.5).0 == flank;
                let ((_, from), (_, to)) = outline.ends(s);
                if of_flank { (to - from).abs() } else { 0.0 }
            };
            outline.segments.iter().map(depth_seen).sum::<f64>()
                > FLANK_SHOWS * params[Param::Depth]
        })
    };
    let mut tan = 0.0;
    while tan < STEEPEST_HIDDEN && !shown(tan) {
        tan += STEEPEST_HIDDEN / 64.0;
    }
    tan
}

/// The factor, at least 1, by which all uncertainties are to be widened because the outline keeps away from the fitted
/// shadow by more than its own noise explains, the square of how many times more: then something was seen that the model does not know,
/// and the numbers carry it.
fn misfit(setting: &Setting<'_>, best: &Best, warnings: &mut Vec<Warning>) -> f64 {
    let o = &best.outcome;
    let mut sizes: Vec<(f64, f64)> = best
        .data
        .iter()
        .zip(&o.evaluated.off_px)
        .zip(&o.masked)
        .filter(|((d, _), masked)| !**masked && matches!(d.on, On::Thread(_)))
        .map(|((d, off), _)| (off.abs(), d.sigma))
        .collect();
    if sizes.is_empty() {
        return 1.0;
    }
    let middle = sizes.len() / 2;
    let off = sizes.select_nth_unstable_by(middle, |a, b| a.0.total_cmp(&b.0)).1.0;
    let noise = sizes.select_nth_unstable_by(middle, |a, b| a.1.total_cmp(&b.1)).1.1;
    let expected = match setting.sighting.drawn {
        picture::Drawn::Shadow => (0.67 * noise).max(0.03),
        // A hand's waver is part of a drawn line.
        picture::Drawn::Line => (0.67 * noise).max(1.0),
    };
    let excess = off / expected;
    if excess <= MISFIT {
        return 1.0;
    }
    warnings.push(Warning::new(
        "misfit",
        format!(
            "The outline keeps {off:.2} px away from the best shadow found, {excess:.0} times more \
             than its noise explains: a form that is no thread of straight flanks, damage, or a \
             view that was not understood. The uncertainties are widened to say so; check the \
             fitted outline over the picture before using anything."
        ),
    ));
    excess * excess
}

/// An angle in more doubt than this is not told, degrees.
const VAGUE_DEG: f64 = 15.0;

/// How many times its noise a median residual may reach before the fit is called into question.
const MISFIT: f64 = 2.5;

/// What must hold for a picture to tell the hand.
#[derive(Debug, Clone, Copy)]
struct HandTold {
    /// The view is in perspective.
    by_view: bool,
    /// The fitted shadow follows the outline.
    by_fit: bool,
}

/// Probability of every hypothesis, as `(signed starts, probability)`, from how well each fits.
fn odds(best: &Best) -> Vec<(f64, f64)> {
    let least = best.hypotheses.first().map_or(0.0, |h| h.1);
    // More starts are rarer: common practice, one start in most screws of machines.
    let weight = |(signed, cost): &(f64, f64)| {
        let prior = match signed.abs() as u32 {
            1 => 1.0,
            2 => 0.15,
            3 => 0.05,
            _ => 0.02,
        };
        (*signed, prior * (-0.5 * (cost - least) / best.correlation).exp())
    };
    let weights: Vec<(f64, f64)> = best.hypotheses.iter().map(weight).collect();
    let total: f64 = weights.iter().map(|w| w.1).sum();
    weights.into_iter().map(|(signed, w)| (signed, w / total)).collect()
}

/// What the hypotheses that were not chosen, yet are not ruled out, add to the uncertainty of `f`: the
/// ends of a range in which it lies (JCGM 100, 4.3.7).
pub(crate) fn of_other_starts(best: &Best, f: &dyn Fn(&Params) -> f64) -> f64 {
    let odds = odds(best);
    let open = |signed: f64| odds.iter().any(|(s, p)| *s == signed && *p > NOT_RULED_OUT);
    best.others
        .iter()
        .filter(|(signed, ..)| open(*signed))
        .map(|(_, chosen, other)| (f(other) - f(chosen)).abs() / 3f64.sqrt())
        .fold(0.0, f64::max)
}

/// Starts and hand with their probabilities, from how well each hypothesis fits.
fn choices(
    setting: &Setting<'_>,
    best: &Best,
    told: HandTold,
    warnings: &mut Vec<Warning>,
) -> (Option<Chosen<u32>>, Option<Chosen<Hand>>) {
    let odds = odds(best);
    let share = |pick: &dyn Fn(f64) -> bool| {
        odds.iter().filter(|(s, _)| pick(*s)).map(|(_, p)| p).sum::<f64>()
    };
    let chosen = best.outcome.frame.signed_starts;
    let entered = |known: bool, p: f64| if known { 1.0 } else { p.min(0.9999) };
    let starts_p = entered(setting.known.starts.is_some(), share(&|s| s.abs() == chosen.abs()));
    let hand_p = entered(setting.known.hand.is_some(), share(&|s| s.signum() == chosen.signum()));
    let right = (chosen < 0.0) != setting.known.mirrored;
    let hand = if right { Hand::Right } else { Hand::Left };
    // Nor does a shadow that does not fit tell how many grooves cast it.
    let starts_tellable = setting.known.starts.is_some() || (told.by_fit && starts_p >= TELLABLE);
    let starts =
        starts_tellable.then_some(Chosen { value: chosen.abs() as u32, probability: starts_p });
    // Parallel light shows both hands alike; what seems to tell them apart there is an error.
    let tellable =
        setting.known.hand.is_some() || (told.by_view && told.by_fit && hand_p >= TELLABLE);
    let hand = tellable.then_some(Chosen { value: hand, probability: hand_p });
    if starts.is_none() {
        warnings.push(Warning::new(
            "starts-unknown",
            "The number of starts cannot be told from this picture: follow one groove with a pencil \
             for one turn and count the grooves it passes, then enter it.",
        ));
    }
    if hand.is_none() {
        let why = match told {
            HandTold { by_fit: false, .. } => "the outline does not follow the shadow fitted to it",
            HandTold { by_view: false, .. } => {
                "light that is nearly parallel shows both hands alike"
            }
            _ => "both hands fit about equally well",
        };
        warnings.push(Warning::new(
            "hand-unknown",
            format!(
                "The hand cannot be told from this picture: {why}. Look at the screw (a right-hand \
                 thread seen with its axis level leans like \\ on the near side) and enter it. The \
                 section does not depend on it."
            ),
        ));
    }
    (starts, hand)
}

fn view(
    setting: &Setting<'_>,
    best: &Best,
    u_of: UOf<'_>,
    warnings: &mut Vec<Warning>,
) -> ViewFound {
    let p = &best.outcome.params;
    let q = p[Param::InverseDistance];
    let inverse = |p: &Params| p[Param::InverseDistance];
    let u_q = u_of(&inverse).hypot(of_other_starts(best, &inverse));
    let axis = best.outcome.evaluated.model.map.axis;
    let roll = (-axis.1).atan2(axis.0).to_degrees();
    let told = q > 3.0 * u_q;
    let parallel = setting.known.view == crate::ViewWanted::Parallel
        || (!told && q + 3.0 * u_q < 1.0 / 1000.0);
    let source = match setting.known.view {
        crate::ViewWanted::Distance(_) => Source::Entered,
        _ => Source::Measured,
    };
    let distance = (told && !parallel).then(|| Quantity::new(1.0 / q, u_q / (q * q), source));
    if distance.is_none() && !parallel {
        warnings.push(Warning::new(
            "distance-unknown",
            "How far the camera stood cannot be told from this picture. With the bar not at the \
             height of the axis this makes the scale uncertain: raise the bar to the axis, or \
             enter the distance.",
        ));
    }
    // Only where the fit was free to find another.
    if let (Some(found), Source::Measured, Some(by_file)) =
        (distance, source, setting.distance_from_focal())
        && (found.value / by_file).ln().abs() > FOCAL_CONTRADICTS
    {
        warnings.push(Warning::new(
            "focal-contradicts",
            sentence!(
                "By the focal length in the picture file the camera stood about {} away, by \
                 the shadow {}. Either the picture has been cut, or the scale is wrong: is the \
                 bar found the right one, its width and where it lies as entered?",
                mm(by_file, 0),
                mm(found.value, 0)
            ),
        ));
    }
    let tilt =
        Quantity::measured(p[Param::Tilt].to_degrees(), u_of(&|p| p[Param::Tilt].to_degrees()));
    let turned = Quantity::measured(roll, u_of(&|p| p[Param::Roll].to_degrees()));
    let told = |q: Quantity| (q.u <= VAGUE_DEG).then_some(q);
    ViewFound {
        perspective: !parallel,
        camera_distance_mm: distance,
        tilt_deg: told(tilt),
        roll_deg: told(turned),
    }
}

fn residuals(best: &Best) -> Vec<Residual> {
    let o = &best.outcome;
    best.data
        .iter()
        .enumerate()
        .filter_map(|(i, d)| {
            let On::Thread(edge) = d.on else { return None };
            let outline = o.evaluated.outlines[usize::from(edge == Edge::Lower)].as_ref()?;
            let foot = o.evaluated.feet[i].as_ref()?;
            let segment = &outline.segments[foot.segment];
            Some(Residual {
                x_px: d.at.0,
                y_px: d.at.1,
                off_px: o.evaluated.off_px[i],
                weight: o.weights[i],
                piece: outline.piece_at(segment, foot.t).0,
                groove: outline.vertices[segment.a].site.groove,
                edge,
            })
        })
        .collect()
}

fn shadow_px(best: &Best) -> Vec<Vec<(f64, f64)>> {
    let e = &best.outcome.evaluated;
    e.outlines
        .iter()
        .flatten()
        .map(|o| o.polyline().iter().map(|(z, x)| e.model.map.px_of(*z, *x)).collect())
        .collect()
}

/// The section itself, where the meridian of each edge would be cut.
fn section_px(setting: &Setting<'_>, best: &Best) -> Vec<Vec<(f64, f64)>> {
    let e = &best.outcome.evaluated;
    let model = &e.model;
    let scale = e.params[Param::Scale];
    let (low, high) = setting.levelled.span();
    let pitch = model.profile.section().pitch_mm();
    let profile: &Profile = &model.profile;
    let mut lines = Vec::new();
    for (outline, edge) in e.outlines.iter().zip([Edge::Upper, Edge::Lower]) {
        if outline.is_none() {
            continue;
        }
        let (sign, phase) = match edge {
            Edge::Upper => (1.0, model.phase),
            Edge::Lower => (-1.0, model.phase + model.advance * std::f64::consts::PI),
        };
        let first = ((low / scale - phase) / pitch).floor() as i32;
        let last = ((high / scale - phase) / pitch).ceil() as i32;
        let mut line = Vec::new();
        for groove in first..last {
            for piece in Piece::ALL {
                let arc = profile.arc_radius_mm(piece) > 0.0;
                let n = if arc { 12 } else { 1 };
                for i in 0..=n {
                    let q = profile.point(piece, f64::from(i) / f64::from(n));
                    let z = phase + f64::from(groove) * pitch + q.z;
                    line.push(model.map.px_of(z, sign * (q.r + profile.rise() * z)));
                }
            }
        }
        lines.push(line);
    }
    lines
}

fn bar_px(setting: &Setting<'_>, best: &Best) -> Vec<[(f64, f64); 2]> {
    let e = &best.outcome.evaluated;
    let lines = e.model.bar_lines(&e.params);
    let ends: Vec<f64> = setting
        .sighting
        .bar
        .edges
        .iter()
        .flatten()
        .map(|q| {
            let (z, x) = e.model.map.plane_of((q.x, q.y));
            z * lines.along.0 + x * lines.along.1
        })
        .collect();
    let low = ends.iter().copied().fold(f64::MAX, f64::min);
    let high = ends.iter().copied().fold(f64::MIN, f64::max);
    lines
        .offsets
        .iter()
        .map(|off| {
            [low, high].map(|t| {
                let z = t * lines.along.0 + off * lines.across.0;
                let x = t * lines.along.1 + off * lines.across.1;
                e.model.map.px_of(z, x)
            })
        })
        .collect()
}
