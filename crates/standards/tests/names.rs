//! Threads by their names: every name of the catalogue, and names as people type them.

use standards::{NameError, completions, families, named};

/// Every designation of the catalogue names its own size, with starts and hand, and in the ways in which
/// such names get typed.
#[test]
fn every_designation_is_read_back() {
    let mut count = 0;
    for family in families() {
        for size in &family.sizes {
            for starts in [1, 2, 3] {
                for left in [false, true] {
                    let name = family.designate(size, starts, left);
                    let typed = [
                        name.clone(),
                        name.to_uppercase(),
                        name.to_lowercase(),
                        name.replace(" x ", "x"),
                        name.replace(" x ", "×"),
                        name.replace('-', "–"),
                        format!("  {name} "),
                    ];
                    for text in typed {
                        let read = named(&text).unwrap_or_else(|e| panic!("{text}: {e}"));
                        assert_eq!(read.designation, name, "{text}");
                        assert_eq!((read.starts, read.left_hand), (starts, left), "{text}");
                        assert_eq!(read.size, size, "{text}");
                        assert_eq!(read.lead_mm(), f64::from(starts) * size.pitch_mm, "{text}");
                    }
                    count += 1;
                }
            }
        }
    }
    assert!(count > 6000, "{count}");
}

#[test]
fn names_as_people_type_them() {
    for (typed, name) in [
        ("M20", "M20 x 2.5"),
        ("m 20", "M20 x 2.5"),
        ("M20x1.5", "M20 x 1.5"),
        ("M20X1,5", "M20 x 1.5"),
        ("M20 × 1.5 - 6g", "M20 x 1.5"),
        ("M8x1-6H/6g", "M8 x 1"),
        ("M16xPh4P2", "M16 x 4 (P2)"),
        ("Tr 16x4", "Tr 16 x 4"),
        ("TR16X4", "Tr 16 x 4"),
        ("tr16*4", "Tr 16 x 4"),
        ("Tr. 16 x 4 mm", "Tr 16 x 4"),
        ("Tr 16x4-7e", "Tr 16 x 4"),
        ("Tr 20x8 P4 LH", "Tr 20 x 8 (P4) LH"),
        ("Tr 20x8P4LH", "Tr 20 x 8 (P4) LH"),
        ("Tr 20 x 8 (P4)", "Tr 20 x 8 (P4)"),
        ("Tr 20x8(P4) left hand", "Tr 20 x 8 (P4) LH"),
        ("Tr 20x4 left-hand", "Tr 20 x 4 LH"),
        ("3/4-6 ACME", "Acme 3/4-6"),
        ("3/4\"-6 acme", "Acme 3/4-6"),
        ("3/4″ – 6 Acme 2G", "Acme 3/4-6"),
        ("ACME3/4-6", "Acme 3/4-6"),
        (".75-6 ACME", "Acme 3/4-6"),
        ("¾-6 acme", "Acme 3/4-6"),
        ("3/4 in acme", "Acme 3/4-6"),
        ("3/4-6 Acme two-start LH", "Acme 3/4-6, 2 starts LH"),
        ("3/4-6 acme 2-start", "Acme 3/4-6, 2 starts"),
        ("1 1/2-4 acme", "Acme 1 1/2-4"),
        ("1-1/2-4 ACME", "Acme 1 1/2-4"),
        ("1½-4 acme", "Acme 1 1/2-4"),
        ("1/2-10 stub acme", "Stub Acme 1/2-10"),
        ("stub acme 1/2-10 m1", "Stub Acme 1/2-10 M1"),
        ("1/2 BSW", "1/2-12 BSW"),
        ("1/2\" Whitworth", "1/2-12 BSW"),
        ("W 1/2", "1/2-12 BSW"),
        ("1/2 BSW 12 tpi", "1/2-12 BSW"),
        ("1/4-20 UNC", "1/4-20 UNC"),
        ("1/4-20UNC-2A", "1/4-20 UNC"),
        ("0.25-20 unc", "1/4-20 UNC"),
        ("#10-24 UNC", "#10-24 UNC"),
        ("No. 10-24 UNC", "#10-24 UNC"),
        ("10-32 UNF", "#10-32 UNF"),
        (".190-32 UNF", "#10-32 UNF"),
        ("1-8 UNC", "1-8 UNC"),
        ("G 1/2", "G 1/2"),
        ("G1/2\" A", "G 1/2"),
        ("1/2 BSP", "G 1/2"),
        ("R 1/2", "R 1/2"),
        ("1/2 NPT", "1/2-14 NPT"),
        ("2 BA", "2 BA"),
        ("2BA", "2 BA"),
        ("BA 2", "2 BA"),
        ("No 2 BA", "2 BA"),
        ("Pg 13,5", "Pg 13.5"),
        ("Rd 20x1/8", "Rd 20 x 1/8"),
        ("Löwenherz 3 x 0,5", "Löwenherz 3 x 0.5"),
        ("Loewenherz 3", "Löwenherz 3 x 0.5"),
    ] {
        match named(typed) {
            Ok(read) => assert_eq!(read.designation, name, "{typed}"),
            Err(e) => panic!("{typed}: {e}"),
        }
    }
}

/// Numbers of ISO 2904 (Tr), ASME B1.5 (Acme) and BS 84 (Whitworth), from handbook tables.
#[test]
fn a_name_gives_the_numbers_of_its_standard() {
    let near = |a: f64, b: f64| (a - b).abs() < 5e-4;
    let tr = named("Tr 20x8 P4 LH").unwrap();
    assert_eq!((tr.starts, tr.left_hand), (2, true));
    assert!(near(tr.pitch_mm(), 4.0) && near(tr.lead_mm(), 8.0) && near(tr.major_mm(), 20.0));
    let d = tr.family.diameters(tr.size);
    // d2 = 18, d3 = 15.5, D1 = 16, D4 = 20.5.
    assert!(near(d.pitch_mm, 18.0) && near(d.external_minor_mm, 15.5));
    assert!(near(d.internal_minor_mm, 16.0) && near(d.internal_major_mm, 20.5));
    let acme = named("3/4-6 ACME").unwrap();
    assert!(near(acme.pitch_mm(), 25.4 / 6.0) && near(acme.family.form.included_deg(), 29.0));
    let bsw = named("1/2 BSW").unwrap();
    assert!(near(bsw.pitch_mm(), 25.4 / 12.0) && near(bsw.family.form.included_deg(), 55.0));
}

#[test]
fn an_unknown_name_is_answered_with_the_nearest() {
    for (typed, nearest) in [
        ("Tr 17x4", "Tr 18 x 4"),
        ("M21", "M20 x 2.5"),
        ("Tr 16x5", "Tr 16 x 4"),
        ("3/4-7 ACME", "Acme 3/4-6"),
        ("Tz 16x4", "Tr 16 x 4"),
        ("1/2 BSQ", "1/2-12 BSW"),
    ] {
        let e = named(typed).unwrap_err();
        assert!(matches!(e, NameError::Unknown { .. }), "{typed}: {e}");
        assert!(e.instead().iter().any(|n| n == nearest), "{typed}: {e}");
        assert!(e.to_string().contains(typed) && e.to_string().contains(nearest), "{e}");
    }
    for typed in ["", "   ", "x", "Tr", "20", "qwertz", "Tr 0x0", "Tr 20x4 LH RH", "M20 x 1 x 2"] {
        assert!(named(typed).is_err(), "{typed}");
    }
    // What could be several is asked.
    for (typed, one, other) in [
        ("1/4-20", "1/4-20 UNC", "1/4-20 BSW"),
        ("Tr 16", "Tr 16 x 4", "Tr 16 x 2"),
        ("Tr 20x4 2 starts", "Tr 20 x 8 (P4)", "Tr 20 x 4 (P2)"),
    ] {
        let e = named(typed).unwrap_err();
        assert!(matches!(e, NameError::Several { .. }), "{typed}: {e}");
        let instead = e.instead();
        assert!([one, other].iter().all(|n| instead.iter().any(|i| i == n)), "{typed}: {e}");
    }
    let e = named("Tr 20x7 P4").unwrap_err().to_string();
    assert!(e.contains("lead of 7") && e.contains("1.75 starts"), "{e}");
    assert!(named("Tr 20x80 P4").is_err());
}

#[test]
fn what_is_begun_is_completed() {
    for (typed, name) in [
        ("M20", "M20 x 2.5"),
        ("tr 16x", "Tr 16 x 4"),
        ("TR16", "Tr 16 x 4"),
        ("3/4 ac", "Acme 3/4-6"),
        ("acme 3/4", "Acme 3/4-6"),
        ("1/2 bs", "1/2-12 BSW"),
        ("2 b", "2 BA"),
        ("tr20x8 p4 lh", "Tr 20 x 8 (P4) LH"),
    ] {
        let all = completions(typed, 8);
        assert!(all.iter().any(|n| n == name), "{typed}: {all:?}");
        assert!(all.len() <= 8);
        // What is offered is a name.
        for offered in &all {
            assert_eq!(&named(offered).unwrap().designation, offered);
        }
    }
    assert_eq!(completions("M20", 4)[0], "M20 x 2.5");
    assert!(completions("", 8).is_empty() && completions("qqq", 8).is_empty());
}
