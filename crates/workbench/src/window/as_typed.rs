//! Entries shown back as they were typed: who wrote 8 tpi does not want to read 3.175 mm.

use super::field::Field;
use job::Job;

/// Name of an entry in the job file: `bar-width`, `evidence-0-1`.
fn name(field: Field) -> String {
    let mut out = String::new();
    for letter in format!("{field:?}").chars() {
        match letter {
            'A'..='Z' => {
                if !out.is_empty() {
                    out.push('-');
                }
                out.push(letter.to_ascii_lowercase());
            }
            '(' | ',' => out.push('-'),
            c if c.is_ascii_alphanumeric() => out.push(c),
            _ => {}
        }
    }
    out
}

/// Whether the words of an entry are worth keeping beside their meaning: numbers with units are;
/// names, counts and lists are kept as they are anyway.
fn keeps(field: Field) -> bool {
    use Field as F;
    !matches!(
        field,
        F::Title
            | F::ThreadName
            | F::Notes
            | F::EvidenceNote(_)
            | F::WheelsOwned
            | F::WheelPair
            | F::Load
            | F::LargestWheel
            | F::PassCount
            | F::SpringPasses
            | F::Speed
            | F::DialDivisions
            | F::WheelTolerance
    )
}

/// Keeps what was typed in an entry; to be called after the job has taken its meaning.
pub fn keep(job: &mut Job, field: Field, text: &str) {
    let text = text.trim();
    if keeps(field) && !text.is_empty() {
        job.typed.insert(name(field), text.to_owned());
    } else {
        job.typed.remove(&name(field));
    }
}

/// What was typed, with another ± behind it, mm.
pub fn with_doubt(job: &mut Job, field: Field, u_mm: f64) {
    if let Some(text) = job.typed.get_mut(&name(field)) {
        let value = text.split('±').next().unwrap_or_default().trim();
        *text = if u_mm > 0.0 { format!("{value} ± {u_mm} mm") } else { value.to_owned() };
    }
}

/// What stands in an entry when nobody is typing in it: the words that were typed while they still
/// mean what the job holds, else the job's number in the units shown.
#[must_use]
pub fn shown(field: Field, job: &Job) -> String {
    let settled = field.settled(job);
    let Some(text) = job.typed.get(&name(field)) else { return settled };
    let mut same = job.clone();
    let means = match field.taken(text, job) {
        Ok(set) => {
            set(&mut same);
            field.settled(&same) == settled
        }
        Err(_) => false,
    };
    if means && !settled.is_empty() { text.clone() } else { settled }
}

#[cfg(test)]
mod tests {
    use super::*;
    use form::Units;

    fn typed(job: &mut Job, field: Field, text: &str) {
        field.taken(text, job).unwrap()(job);
        keep(job, field, text);
    }

    #[test]
    fn what_was_typed_is_shown_back_while_it_holds() {
        let mut job = Job::default();
        typed(&mut job, Field::Leadscrew, "8 tpi");
        typed(&mut job, Field::BarWidth, " 1/4\" ± 0.0002 in");
        typed(&mut job, Field::FormRight, "14d30m");
        for units in [Units::Mm, Units::Inch, Units::Thou] {
            job.units = units;
            assert_eq!(shown(Field::Leadscrew, &job), "8 tpi");
            assert_eq!(shown(Field::BarWidth, &job), "1/4\" ± 0.0002 in");
            assert_eq!(shown(Field::FormRight, &job), "14d30m");
        }
        job.bar.width_mm = Some(form::Quantity::entered(6.35, 0.003));
        with_doubt(&mut job, Field::BarWidth, 0.003);
        assert_eq!(shown(Field::BarWidth, &job), "1/4\" ± 0.003 mm");
        // Changed by other means than typing, the number speaks for itself.
        job.units = Units::Mm;
        job.wheels.leadscrew_mm = Some(3.0);
        assert_eq!(shown(Field::Leadscrew, &job), "3 mm");
        typed(&mut job, Field::BarWidth, "");
        assert_eq!(shown(Field::BarWidth, &job), "");
        // A number without a unit, from a table, means another length in other units.
        job.survey.readings = vec![shop::Reading {
            position_mm: 40.0,
            lost_motion_mm: form::Quantity::measured(0.2, 0.01),
        }];
        keep(&mut job, Field::Station(0), "40");
        assert_eq!(shown(Field::Station(0), &job), "40");
        job.units = Units::Inch;
        assert_eq!(shown(Field::Station(0), &job), "1.5748");
    }

    #[test]
    fn entries_have_names_of_their_own() {
        assert_eq!(name(Field::BarWidth), "bar-width");
        assert_eq!(name(Field::Evidence(0, 12)), "evidence-0-12");
        assert_eq!(name(Field::Jaw(3, 1)), "jaw-3-1");
        assert!(!keeps(Field::Title) && keeps(Field::Lost(2)));
    }
}
