//! A thread taken by its name: the numbers of its standard, for a job and for whoever asks.

use crate::identity::ReadingSaid;
use crate::job::Job;
use crate::machine::FormSaid;
use crate::record::FormRecord;
use form::{Hand, Quantity, Section, SectionError, Source};
use standards::{Evidence, Named};

/// The section of a thread as its standard designs the screw.
fn section(named: &Named) -> Result<Section, SectionError> {
    named.family.form.section(named.pitch_mm(), false)
}

/// Its hand.
fn hand(named: &Named) -> Hand {
    if named.left_hand { Hand::Left } else { Hand::Right }
}

/// The numbers of a named thread, each from its standard, as a measurement gives them.
///
/// # Errors
/// [`SectionError`] where the catalogue holds no section.
pub fn form_of_name(named: &Named) -> Result<FormRecord, SectionError> {
    let section = section(named)?;
    let standard = |value: f64| Some(Quantity::standard(value));
    let taper = named.family.form.taper;
    let d = named.family.form.diameters(named.major_mm(), named.pitch_mm());
    Ok(FormRecord {
        pitch_mm: standard(named.pitch_mm()),
        lead_mm: standard(named.lead_mm()),
        right_flank_deg: standard(named.family.form.angle_a_deg),
        left_flank_deg: standard(named.family.form.angle_b_deg),
        included_angle_deg: standard(named.family.form.included_deg()),
        depth_mm: standard(section.depth_mm()),
        crest_flat_mm: standard(section.crest_flat_mm()),
        root_flat_mm: standard(section.root_flat_mm()),
        crest_radius_mm: standard(section.crest_radius_mm()),
        root_radius_mm: standard(section.root_radius_mm()),
        major_diameter_mm: standard(named.major_mm()),
        minor_diameter_mm: standard(named.major_mm() - 2.0 * section.depth_mm()),
        pitch_diameter_mm: standard(d.pitch_mm),
        taper: standard(taper),
    })
}

/// Makes a job's thread the named one: form, major diameter, starts, hand, and the taper where it has
/// one. What was read beside it stays.
///
/// # Errors
/// [`SectionError`] where the catalogue holds no section; the job is as it was then.
pub fn take_name(job: &mut Job, named: &Named) -> Result<(), SectionError> {
    let section = section(named)?;
    let standard = |value: f64| Some(Quantity::standard(value));
    // A radius of nothing is a sharp corner, which is said by saying nothing.
    let radius = |mm: f64| (mm > 0.0).then(|| Quantity::standard(mm));
    job.form = FormSaid {
        pitch_mm: standard(named.pitch_mm()),
        right_flank_deg: standard(named.family.form.angle_a_deg),
        left_flank_deg: standard(named.family.form.angle_b_deg),
        depth_mm: standard(section.depth_mm()),
        crest_flat_mm: standard(section.crest_flat_mm()),
        crest_radius_mm: radius(section.crest_radius_mm()),
        root_radius_mm: radius(section.root_radius_mm()),
    };
    job.thread.major_diameter_mm = standard(named.major_mm());
    job.thread.starts = Some(named.starts);
    job.thread.hand = Some(hand(named));
    job.beside = Some(named.designation.clone());
    // The taper of another name goes with it.
    job.evidence.retain(|said| {
        !matches!(said.evidence, Evidence::Taper { taper } if taper.source == Source::Standard)
    });
    let taper = named.family.form.taper;
    if taper > 0.0 {
        let taper = Quantity::standard(taper);
        job.evidence.push(ReadingSaid::new(Evidence::Taper { taper }));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_makes_a_whole_job() {
        for family in standards::families() {
            for size in &family.sizes {
                let name = family.designate(size, 1, false);
                let named = standards::named(&name).unwrap();
                let mut job = Job::default();
                take_name(&mut job, &named).unwrap();
                let read = form_of_name(&named).unwrap();
                assert_eq!(read.pitch_mm, job.form.pitch_mm, "{name}");
                assert_eq!(read.major_diameter_mm, job.thread.major_diameter_mm, "{name}");
                let minor = read.minor_diameter_mm.unwrap().value;
                assert!(minor > 0.0 && minor < named.major_mm(), "{name}");
            }
        }
    }

    #[test]
    fn two_starts_and_a_left_hand_reach_the_nut() {
        let mut job = Job { duty: Some(crate::Duty::Adjusts), ..Job::default() };
        take_name(&mut job, &standards::named("Tr 20x8 P4 LH").unwrap()).unwrap();
        let findings = crate::evaluate(&job, None, &|_| true).unwrap();
        let tool = findings.tool.unwrap();
        assert_eq!((tool.starts, tool.hand), (2, Hand::Left));
        assert!((tool.pitch_mm - 4.0).abs() < 1e-9);
        // atan(8 / (π · 18)): the lead angle at the pitch diameter.
        let lead = (8.0 / (std::f64::consts::PI * 18.0)).atan().to_degrees();
        assert!((tool.pitch_lead_angle_deg - lead).abs() < 0.02, "{}", tool.pitch_lead_angle_deg);
        let screw = findings.screw.unwrap();
        assert_eq!(screw.pitch_mm.u, 0.0);
        assert_eq!(screw.pitch_mm.source, Source::Standard);
    }

    #[test]
    fn a_taper_of_another_name_goes_with_it() {
        let mut job = Job::default();
        take_name(&mut job, &standards::named("1/2 NPT").unwrap()).unwrap();
        assert!(matches!(job.evidence[0].evidence, Evidence::Taper { .. }));
        take_name(&mut job, &standards::named("M20").unwrap()).unwrap();
        assert!(job.evidence.is_empty());
    }
}
