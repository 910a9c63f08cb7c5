//! Over wires, against handbooks.

mod common;

use approx::assert_abs_diff_eq;
use common::rows;
use form::{Quantity, units::MM_PER_INCH};
use shop::*;

fn exact(value: f64) -> Quantity {
    Quantity::entered(value, 0.0)
}

fn symmetric(pitch: f64, included: f64, diameter: f64, starts: u32) -> WireThread {
    WireThread::symmetric(exact(pitch), exact(included), exact(diameter), starts)
}

#[test]
fn large_leads_of_machinerys_handbook() {
    // tests/data/acme_large_lead.csv: Machinery's Handbook 31st ed. p. 2136, pitch 1: best wire w1
    // and M - E. Exact contact reproduces the printed value to 1e-4 of the pitch; the first-order
    // formula misses it by up to 2e-3.
    let mut worst_formula = 0.0f64;
    for row in rows(include_str!("data/acme_large_lead.csv")) {
        let starts: u32 = row[0].parse().unwrap();
        let v: Vec<f64> = row[1..].iter().map(|c| c.parse().unwrap()).collect();
        let [lead, wire, printed, calculated, formula] = v[..] else { panic!() };
        let diameter = f64::from(starts) / (std::f64::consts::PI * lead.to_radians().tan());
        let t = symmetric(1.0, 29.0, diameter, starts);
        let r = over_wires(&t, Some(wire)).unwrap();
        let got = r.over_wires_mm.value - diameter;
        assert_abs_diff_eq!(got, printed, epsilon = 1e-4);
        assert_abs_diff_eq!(got, calculated, epsilon = 1.5e-5);
        let first = r.over_wires_first_order_mm.unwrap() - diameter;
        assert_abs_diff_eq!(first, formula, epsilon = 6e-5);
        worst_formula = worst_formula.max((first - printed).abs());
        // The best wire of the table touches at the pitch line.
        assert_abs_diff_eq!(r.best_wire_at_lead_mm.unwrap(), wire, epsilon = 2e-4);
    }
    assert!(worst_formula > 1.5e-3, "{worst_formula}");
}

#[test]
fn wire_constants_of_a_gauge_maker() {
    // tests/data/wire_constants.csv: E = M - (kG G - kP P) at no lead; best wire over P.
    for row in rows(include_str!("data/wire_constants.csv")) {
        // One row writes its angle as 53d8m.
        let included =
            row[0].split(' ').find_map(|w| w.parse::<f64>().ok()).unwrap_or(53.0 + 8.0 / 60.0);
        let best: f64 = row[1].parse().unwrap();
        let half = 0.5 * included;
        assert_abs_diff_eq!(best_wire_mm(1.0, half, half), best, epsilon = 1.5e-5);
        // A diameter so large that no lead is left.
        let flat = |wire: f64| {
            over_wires(&symmetric(1.0, included, 40.0, 1), Some(wire))
                .unwrap()
                .over_wires_no_lead_correction_mm
                - 40.0
        };
        if let (Ok(kg), Ok(kp)) = (row[2].parse::<f64>(), row[3].parse::<f64>()) {
            let (a, b) = (flat(0.5), flat(0.6));
            assert_abs_diff_eq!((b - a) / 0.1, kg, epsilon = 2e-4);
            assert_abs_diff_eq!(0.5 * (b - a) / 0.1 - a, kp, epsilon = 3e-4);
        }
    }
}

#[test]
fn over_wires_of_29_and_30_degrees() {
    // Calculated, no lead: 29°: d2 + 4.9939 W - 1.9334 P; 30°: d2 + 4.8637 W - 1.8660 P.
    for (angle, kg, kp) in [(29.0, 4.9939, 1.9334), (30.0, 4.8637, 1.8660)] {
        let r = over_wires(&symmetric(4.0, angle, 14.0, 1), Some(2.07)).unwrap();
        let wanted = 14.0 + kg * 2.07 - kp * 4.0;
        assert_abs_diff_eq!(r.over_wires_no_lead_correction_mm, wanted, epsilon = 3e-4);
        assert!(r.over_wires_mm.value > r.over_wires_no_lead_correction_mm);
    }
}

#[test]
fn worked_examples_over_three_wires() {
    // tests/data/three_wire_examples.csv (Machinery's Handbook 31st ed. p. 2130, p. 2135; Jones 1914).
    // The 60° rows follow M = D - 1.5155 P + 3 W, which takes E = D - 0.6495 P and no lead.
    let mut seen = 0;
    for row in rows(include_str!("data/three_wire_examples.csv")) {
        let number = |s: &str| -> f64 {
            s.rsplit('=').next().unwrap().split_whitespace().next().unwrap().parse().unwrap()
        };
        if row[1].starts_with("Acme") {
            continue;
        }
        let (size, tpi) = row[1].trim_start_matches("UN ").rsplit_once('-').unwrap();
        let diameter: f64 = size
            .split_whitespace()
            .map(|w| match w.split_once('/') {
                Some((a, b)) => a.parse::<f64>().unwrap() / b.parse::<f64>().unwrap(),
                None => w.parse().unwrap(),
            })
            .sum();
        let pitch = 1.0 / tpi.parse::<f64>().unwrap();
        let (wire, printed) = (number(&row[2]), number(&row[3]));
        let inch = MM_PER_INCH;
        let pd = (diameter - 0.649_519 * pitch) * inch;
        let r = over_wires(&symmetric(pitch * inch, 60.0, pd, 1), Some(wire * inch)).unwrap();
        assert_abs_diff_eq!(r.over_wires_no_lead_correction_mm / inch, printed, epsilon = 2.5e-4);
        seen += 1;
    }
    assert_eq!(seen, 6);
    // Acme, D 5, P 0.5, lead 1 (two starts), W 0.258, ridge 0.2454 at the pitch line: M 5.056.
    let mut t = symmetric(0.5, 29.0, 5.0 - 0.25, 2);
    t.groove_width_mm = Some(0.5 - 0.2454);
    let r = over_wires(&t, Some(0.258)).unwrap();
    assert_abs_diff_eq!(r.over_wires_first_order_mm.unwrap(), 5.056, epsilon = 5e-4);
    assert_abs_diff_eq!(r.over_wires_mm.value, 5.056, epsilon = 5e-4);
}

#[test]
fn euramet_cg_10_pitch_diameter() {
    // EURAMET cg-10, symmetric profile, without the term for the measuring force:
    // d2 = m - dD (1/sin(α/2) + 1) + P/2 cot(α/2) - dD/2 · (Ph/(π d2))² cos(α/2) cot(α/2).
    // (Its lead term is the first-order one; formula from memory.)
    for (p, d2, included) in [(1.5, 9.026, 60.0f64), (4.0, 14.0, 30.0), (2.0, 19.0, 30.0)] {
        let wire = best_wire_mm(p, 0.5 * included, 0.5 * included);
        let r = over_wires(&symmetric(p, included, d2, 1), None).unwrap();
        let half = (0.5 * included).to_radians();
        let m = r.over_wires_first_order_mm.unwrap();
        let tan_lead = p / (std::f64::consts::PI * d2);
        let back = m - wire * (1.0 / half.sin() + 1.0) + 0.5 * p / half.tan()
            - 0.5 * wire * tan_lead.powi(2) * half.cos() / half.tan();
        assert_abs_diff_eq!(back, d2, epsilon = 1e-9);
        // At ordinary lead angles exact contact differs from it by micrometres only.
        assert_abs_diff_eq!(r.over_wires_mm.value, m, epsilon = 0.004);
    }
}

#[test]
fn asymmetric_flanks_by_the_published_formula() {
    // E = M + P/(tan a1 + tan a2) - G [1 + cosec((a1+a2)/2) cos((a1-a2)/2)]: gauge practice for
    // unequal flanks, and plane trigonometry.
    for (a1, a2) in [(45.0f64, 7.0f64), (30.0, 3.0), (15.0, 20.0)] {
        let (p, e, g) = (3.0, 40.0, 1.9);
        let mut t = symmetric(p, 30.0, e, 1);
        t.right_flank_deg = exact(a1);
        t.left_flank_deg = exact(a2);
        let r = over_wires(&t, Some(g)).unwrap();
        let (x, y) = (a1.to_radians(), a2.to_radians());
        let m =
            e - p / (x.tan() + y.tan()) + g * (1.0 + (0.5 * (x - y)).cos() / (0.5 * (x + y)).sin());
        assert_abs_diff_eq!(r.over_wires_no_lead_correction_mm, m, epsilon = 1e-9);
        assert!(r.over_wires_first_order_mm.is_none());
        // The mirrored form measures the same.
        std::mem::swap(&mut t.right_flank_deg, &mut t.left_flank_deg);
        let mirrored = over_wires(&t, Some(g)).unwrap();
        assert_abs_diff_eq!(mirrored.over_wires_mm.value, r.over_wires_mm.value, epsilon = 1e-9);
        assert!(r.over_wires_mm.value > m);
    }
}

#[test]
fn the_measurement_leads_back_to_the_pitch_diameter() {
    let mut t = symmetric(4.0, 30.0, 14.0, 2);
    t.right_flank_deg.u = 0.1;
    t.left_flank_deg.u = 0.1;
    let m = over_wires(&t, Some(2.2)).unwrap().over_wires_mm;
    let mut start = t;
    start.pitch_diameter_mm = exact(13.5);
    let d2 = pitch_diameter_from_wires(&start, 2.2, Quantity::measured(m.value, 0.005)).unwrap();
    assert_abs_diff_eq!(d2.value, 14.0, epsilon = 1e-8);
    assert!(d2.u > 0.005);
}

#[test]
fn limits_are_named() {
    let t = symmetric(4.0, 30.0, 14.0, 1);
    let e = over_wires(&t, Some(20.0)).unwrap_err().to_string();
    assert!(e.contains("wire (mm) 20.0000 is outside"), "{e}");
    assert!(over_wires(&symmetric(4.0, 0.0, 14.0, 1), None).is_err());
    assert!(over_wires(&symmetric(f64::NAN, 30.0, 14.0, 1), None).is_err());
    let mut with_ends = t;
    with_ends.major_diameter_mm = Some(16.0);
    with_ends.minor_diameter_mm = Some(11.5);
    assert!(over_wires(&with_ends, None).unwrap().notices.is_empty());
    let thick = over_wires(&with_ends, Some(4.5)).unwrap();
    assert!(thick.notices.iter().any(|n| n.code == "wire-on-crest"));
    let thin = over_wires(&with_ends, Some(1.2)).unwrap();
    assert!(thin.notices.iter().any(|n| n.code == "wire-below-crest"));
}

#[test]
fn a_wire_without_a_seat_is_told_of_one_that_has() {
    // Twelve starts of 4 mm on 20 mm: a lead angle of 37°.
    let t = symmetric(4.0, 30.0, 20.0, 12);
    let e = over_wires(&t, None).unwrap_err();
    let WireError::NoSeat { wire_mm, seats_mm } = e else { panic!("{e}") };
    match seats_mm {
        Some(seats) => {
            assert!((seats - wire_mm).abs() > 0.005, "{seats}");
            over_wires(&t, Some(seats)).unwrap();
            assert!(e.to_string().contains(&format!("one of {seats:.2} mm")), "{e}");
        }
        None => assert!(e.to_string().contains("too steep for wires"), "{e}"),
    }
}
