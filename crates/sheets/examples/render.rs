//! Writes every sheet for several inputs into a directory, to be looked at.

#[path = "../tests/scenes/mod.rs"]
mod scenes;

use form::Units;
use sheets::{
    Drawing, NutBody, Paper, SheetInfo, bench_sheet, dxf, faults, job_sheet, nut_drawing, pdf,
    record_sheet, shadow_chart, survey_sheet, svg, tool_template, wheels_sheet,
};

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
    for (suffix, paper, units, job) in [
        ("a4", Paper::A4, Units::Mm, "Studio easel, mast screw"),
        ("letter", Paper::Letter, Units::Inch, scenes::LONG_NAME),
    ] {
        let info = scenes::info(paper, units, job);
        for (name, pitch, form) in scenes::forms() {
            let pages = tool_template(&info, &scenes::template(form))?;
            save(&format!("tool-{name}-{suffix}"), &pages)?;
            let body = match name {
                "sixty-1" => NutBody::Split { kerf_mm: 1.0 },
                "buttress-35" => NutBody::Sleeve,
                _ => NutBody::Solid,
            };
            let pages = nut_drawing(&info, &scenes::nut(pitch, form, body))?;
            save(&format!("nut-{name}-{suffix}"), &pages)?;
            let pages = shadow_chart(&info, &scenes::chart(pitch, form))?;
            save(&format!("chart-{name}-{suffix}"), &pages)?;
            let passes = if name == "huge-12" { 64 } else { 18 };
            let pages = job_sheet(&info, &scenes::job(pitch, form, passes))?;
            save(&format!("job-{name}-{suffix}"), &pages)?;
        }
        save(&format!("record-{suffix}"), &record_sheet(&info, &scenes::record(3))?)?;
        save(&format!("record-many-{suffix}"), &record_sheet(&info, &scenes::record(30))?)?;
        save(&format!("survey-{suffix}"), &survey_sheet(&info, &scenes::survey(9))?)?;
        save(&format!("survey-many-{suffix}"), &survey_sheet(&info, &scenes::survey(60))?)?;
        save(&format!("bench-{suffix}"), &bench_sheet(&info, &scenes::bench(3))?)?;
        for (i, (drivers, driven)) in scenes::TRAINS.into_iter().enumerate() {
            let sheet = scenes::wheels(drivers, driven, 6 * i);
            save(&format!("wheels-{i}-{suffix}"), &wheels_sheet(&info, &sheet)?)?;
        }
        let refused = SheetInfo { thread_use: shop::UseOfThread::Lifts, ..info };
        save(
            &format!("refused-{suffix}"),
            &tool_template(&refused, &scenes::template(scenes::trapezoid_4()))?,
        )?;
    }
    Ok(())
}
