//! Writes every sheet for several inputs into a directory, to be looked at.

#[path = "../tests/scenes/mod.rs"]
mod scenes;

use form::Units;
use sheets::{Drawing, Paper, dxf, faults, pdf, svg, tool_template};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let dir = std::env::args().nth(1).unwrap_or_else(|| "sheets-out".into());
    std::fs::create_dir_all(&dir)?;
    let save = |name: &str, pages: &[Drawing]| -> Result<(), Box<dyn std::error::Error>> {
        std::fs::write(format!("{dir}/{name}.pdf"), pdf(pages)?)?;
        for page in pages {
            let stem = format!("{dir}/{name}-{}", page.page);
            std::fs::write(format!("{stem}.svg"), svg(page))?;
            std::fs::write(format!("{stem}.dxf"), dxf(page))?;
            for fault in faults(page) {
                eprintln!("{name} page {}: {fault}", page.page);
            }
        }
        Ok(())
    };
    for (name, form) in [
        ("trapezoid-4", scenes::trapezoid_4()),
        ("sixty-1", scenes::sixty_1()),
        ("buttress-35", scenes::buttress_35()),
        ("tiny-05", scenes::tiny_05()),
        ("huge-12", scenes::huge_12()),
        ("square-6", scenes::square_6()),
    ] {
        for (suffix, paper, units, job) in [
            ("a4", Paper::A4, Units::Mm, "Studio easel, mast screw"),
            ("letter", Paper::Letter, Units::Inch, scenes::LONG_NAME),
        ] {
            let info = scenes::info(paper, units, job);
            let pages = tool_template(&info, &scenes::template(form))?;
            save(&format!("tool-{name}-{suffix}"), &pages)?;
        }
    }
    Ok(())
}
