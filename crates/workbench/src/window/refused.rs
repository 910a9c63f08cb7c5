//! Entries whose text was refused: while one stands in its field, what is shown rests on what was
//! there before it, and its step says so.

use super::field::Field;
use super::stage::Stage;
use super::state::Bench;

/// The step whose page an entry stands on.
#[must_use]
fn stage_of(bench: &Bench, field: Field) -> Stage {
    use Field as F;
    let no_nut = || bench.findings().is_none_or(|f| f.nut.is_none());
    match field {
        F::Title | F::Notes => Stage::Sheets,
        F::Station(_) | F::Lost(_) | F::EndFloat | F::Acceptable => Stage::Survey,
        F::BarWidth | F::BarDrop => Stage::Bar,
        F::Distance => Stage::Thread,
        F::Major if bench.loaded.is_some() => Stage::Thread,
        F::Major
        | F::FormPitch
        | F::FormRight
        | F::FormLeft
        | F::FormDepth
        | F::FormCrest
        | F::FormCrestRadius
        | F::FormRootRadius => Stage::Form,
        F::Evidence(..) | F::EvidenceNote(_) => Stage::Identity,
        // Without a nut the wheels ask how long it is, and with how much play.
        F::Play | F::NutLength if no_nut() && bench.stage == Stage::Wheels => Stage::Wheels,
        F::Play
        | F::RadialClearance
        | F::NutLength
        | F::Load
        | F::Unworn
        | F::Kerf
        | F::SleeveOutside
        | F::Interference => Stage::Nut,
        F::TopRake | F::AboveCentre | F::BoringBar | F::Overhang | F::GroundBar => Stage::Tool,
        F::Leadscrew
        | F::LeadWanted
        | F::WheelsOwned
        | F::WheelPair
        | F::WheelTolerance
        | F::Module
        | F::ShaftDiameter
        | F::Centres
        | F::LargestWheel => Stage::Wheels,
        F::PassDepth
        | F::PassTip
        | F::PassStep
        | F::TopSlide
        | F::BlankFace
        | F::FirstTop
        | F::FirstDiameter
        | F::SecondTop
        | F::SecondDiameter
        | F::Within
        | F::Jaw(..)
        | F::PassCount
        | F::SpringPasses
        | F::Speed
        | F::DialDivision
        | F::DialDivisions => Stage::Passes,
        F::Wire | F::PitchDiameter | F::OverWires | F::LeastPlay | F::MostPlay => Stage::Checks,
    }
}

/// The entry of a step whose text is refused.
#[must_use]
pub fn at(bench: &Bench, stage: Stage) -> Option<Field> {
    bench.wrong.keys().copied().find(|f| stage_of(bench, *f) == stage)
}

/// The first entry of all that is refused, in the order of the steps, and its step.
#[must_use]
pub fn first(bench: &Bench) -> Option<(Stage, Field)> {
    Stage::ALL.into_iter().find_map(|s| Some((s, at(bench, s)?)))
}

/// What is to be said of it on its step.
#[must_use]
pub fn said(bench: &Bench, field: Field) -> String {
    let before = match bench.settled_text(field) {
        text if text.is_empty() => "it is not used".to_owned(),
        text => format!("{text} is used as before"),
    };
    format!("The {} as typed is refused, and {before}", field.label())
}
