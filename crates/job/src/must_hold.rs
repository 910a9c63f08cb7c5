//! Threads that hold a machine's slide or clamp by hand: made only where they hold by themselves and their
//! flanks bear the load.

use crate::findings::{Findings, Part, Remark};
use crate::job::Job;
use shop::{NutDesign, ScrewForm};

/// Whether a thread whose duty asks for it holds by itself: says so, or why nothing is made.
pub(crate) fn holds(job: &Job, screw: &ScrewForm, out: &mut Findings) -> Option<String> {
    let duty = job.duty.filter(|d| d.must_hold())?;
    let Ok(found) = shop::SelfLocking::of_screw(screw) else { return None };
    let angles = format!(
        "lead angle {:.2}°, friction angle {:.2}° (friction {} at least, lubricated steel on bronze, common \
         practice)",
        found.lead_angle_deg, found.friction_angle_deg, found.friction
    );
    if !found.holds() {
        return Some(format!(
            "No nut, tool or sheet is made here for a thread that {} unless it is sure to hold by itself, and \
             this one is not: {angles}. A competent, licensed person has to specify it, with a brake or a \
             catch. The measurement itself you can still see and keep.",
            duty.sentence()
        ));
    }
    let text = format!("the thread holds by itself: {angles}. Shaking can still let it creep");
    out.warnings.push(Remark::new(Part::Nut, "self-locking", text));
    None
}

/// Whether the flanks of a nut whose duty asks for it bear their load: says what is missing, or why
/// nothing is made.
pub(crate) fn bears(job: &Job, nut: &NutDesign, out: &mut Findings) -> Option<String> {
    let duty = job.duty.filter(|d| d.must_hold())?;
    let Some(pressure) = &nut.pressure else {
        let text = "nobody said the load, and the pressure on the flanks is not checked: enter what hangs on \
                    the nut or presses it, in newtons";
        out.warnings.push(Remark::new(Part::Nut, "load-not-said", text));
        return None;
    };
    (pressure.pressure_n_per_mm2 > pressure.permissible_n_per_mm2).then(|| {
        format!(
            "No nut is made here for a thread that {} with {:.1} N/mm² on its flanks: {:.0} N/mm² is the most \
             for {} ({}). Make it longer, or have it specified by a competent, licensed person.",
            duty.sentence(),
            pressure.pressure_n_per_mm2,
            pressure.permissible_n_per_mm2,
            nut.request.material.name(),
            pressure.source
        )
    })
}
