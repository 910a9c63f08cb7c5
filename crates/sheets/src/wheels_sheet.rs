//! Change wheels by themselves: what is put on, what it cuts, and what else would nearly do.

use crate::info::{SheetError, SheetInfo, within};
use crate::number::Row;
use crate::page::{Page, SMALL_MM};
use crate::paper::drawing::{Anchor, Drawing, number_pages};
use crate::paper::font::{self, Weight};
use crate::paper::geometry::pt;
use crate::refusal::refused;
use crate::table::{self, Column, Table};
use crate::wheels::{self, EXACT, FRACTION_MM, GearTrain, product};
use form::{Quantity, Units};
use shop::About;

/// Another train that comes near.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherTrain {
    /// Drivers, from the spindle on.
    pub drivers: Vec<u32>,
    /// Driven wheels, the last on the lead screw.
    pub driven: Vec<u32>,
    /// Idler, where one is needed to reach.
    pub idler: Option<u32>,
    /// Pitch it cuts, mm.
    pub pitch_cut_mm: Quantity,
    /// Error against the pitch wanted, parts per million.
    pub error_ppm: f64,
    /// That error over the same length as the first train's, mm.
    pub error_over_mm: Quantity,
    /// When the half nuts may open.
    pub half_nuts: String,
}

/// What the sheet of change wheels shows.
#[derive(Debug, Clone, PartialEq)]
pub struct WheelsSheet {
    /// What for: `3 mm from a lead screw of 8 tpi`.
    pub subject: String,
    /// The train that is put on.
    pub train: GearTrain,
    /// Idler, where one is needed to reach.
    pub idler: Option<u32>,
    /// Module of the wheels, mm: they are drawn to scale for it.
    pub module_mm: Quantity,
    /// Teeth of the wheels owned.
    pub owned: Vec<u32>,
    /// Numbers: lead wanted, ratio.
    pub rows: Vec<Row>,
    /// The next best, best first.
    pub others: Vec<OtherTrain>,
    /// What else to mind.
    pub notes: Vec<String>,
}

const CAUTIONS: [About; 2] = [About::Lathe, About::Wheels];
/// Height the drawing of the train keeps, mm.
const LEAST_DRAWING_MM: f64 = 62.0;
const MOST_DRAWING_MM: f64 = 90.0;
const SIZE_MM: f64 = 3.5;

/// The sheet, always one page: of the other trains as many as find room.
///
/// # Errors
/// [`SheetError::Limits`] for wheels that cannot be drawn, [`SheetError::TooMany`] for more than one
/// page holds.
pub fn wheels_sheet(info: &SheetInfo, sheet: &WheelsSheet) -> Result<Vec<Drawing>, SheetError> {
    let title = format!("Change wheels: {}", sheet.subject);
    if let Some(page) = refused(info, &title) {
        return Ok(page);
    }
    let train = &sheet.train;
    within("number of drivers", train.drivers.len() as f64, "", 1.0, 4.0)?;
    within(
        "number of driven wheels, of as many drivers,",
        train.driven.len() as f64,
        "",
        train.drivers.len() as f64,
        train.drivers.len() as f64,
    )?;
    for teeth in train.drivers.iter().chain(&train.driven).chain(&sheet.idler) {
        within("teeth", f64::from(*teeth), "", 4.0, 1000.0)?;
    }
    within("module", sheet.module_mm.value, "mm", 0.1, 20.0)?;
    within("error", train.error_ppm, "ppm", -1e6, 1e6)?;

    let mut page = Page::new(info, &title, &CAUTIONS, &[]);
    let width = page.body.width();
    let units = info.units;
    let head = page.take_top(FRACTION_MM + 2.0);
    wheels::fraction(page.canvas(), head.left, head.top - 2.0, train);
    let owned: Vec<String> = sheet.owned.iter().map(u32::to_string).collect();
    let owned = (!owned.is_empty()).then(|| format!("Wheels owned: {}.", owned.join(", ")));
    let said: Vec<(usize, String)> = std::iter::once(&train.sentence(units))
        .chain(&train.notes)
        .chain(&sheet.notes)
        .chain(&owned)
        .flat_map(|s| font::wrap(s, width - 3.0, SIZE_MM, Weight::Regular).into_iter().enumerate())
        .collect();
    let lines = page.take_top(1.0 + 4.5 * said.len() as f64 + 1.5);
    let mut y = lines.top - 4.5;
    for (i, line) in &said {
        if *i == 0 {
            page.canvas().write(pt(lines.left, y), "•", SIZE_MM, Anchor::Start);
        }
        page.canvas().write(pt(lines.left + 3.0, y), line, SIZE_MM, Anchor::Start);
        y -= 4.5;
    }
    let numbers = table::numbers(&sheet.rows, units, 2, width);
    let numbers_mm = table::tallest(&numbers) + 2.0;
    let foot = page.take_bottom(4.8);
    let room = page.body.height() - numbers_mm - LEAST_DRAWING_MM;
    if room < 0.0 {
        return Err(SheetError::TooMany { what: "rows", count: sheet.rows.len(), most: 20 });
    }
    // The best of the others that find room; the drawing gets what is left.
    let others = (0..=sheet.others.len())
        .rev()
        .filter(|n| *n > 0)
        .map(|n| others(sheet, n, units, width))
        .find(|t| t.height() + 9.0 <= room);
    let others_mm = others.as_ref().map_or(0.0, |t| t.height() + 9.0);
    let drawing_mm = (page.body.height() - numbers_mm - others_mm).min(MOST_DRAWING_MM);
    let place = page.take_top(drawing_mm);
    let (caption, place) = place.cut_bottom(5.0);
    let row = shop::wheel_row(&train.drivers, &train.driven, sheet.idler);
    let times = wheels::drawn(page.canvas(), &row, sheet.module_mm.value, place);
    let scale = format!(
        "Pitch circles 1 : {times}, for wheels of module {} mm ({}). Drivers in full lines, driven \
         wheels dashed{}.",
        crate::number::trimmed(sheet.module_mm.value, 3),
        sheet.module_mm.source,
        if sheet.idler.is_some() { ", the idler in a chain line" } else { "" },
    );
    page.canvas().write(pt(caption.left, caption.bottom + 1.0), &scale, SMALL_MM, Anchor::Start);
    let place = page.take_top(numbers_mm);
    table::draw_beside(&numbers, page.canvas(), place.left, place.top - 1.0, 6.0);
    if let Some(table) = others {
        let place = page.take_top(table.height() + 9.0);
        let d = page.canvas();
        d.write_bold(pt(place.left, place.top - 6.0), "The next best", 4.0, Anchor::Start);
        table.draw(d, place.left, place.top - 8.0);
    }
    page.canvas().write(pt(foot.left, foot.bottom + 1.4), FOOTNOTE, 2.8, Anchor::Start);
    let mut drawings = vec![page.drawing];
    number_pages(&mut drawings);
    Ok(drawings)
}

const FOOTNOTE: &str =
    "Pitch cut = lead screw × drivers / driven, calculated; ppm: millionths, + too coarse.";

/// A table of the first `most` of the other trains.
fn others(sheet: &WheelsSheet, most: usize, units: Units, width: f64) -> Table {
    let cells: Vec<Vec<String>> = sheet
        .others
        .iter()
        .take(most)
        .map(|t| {
            let idler = t.idler.map(|i| format!(" (idler {i})")).unwrap_or_default();
            vec![
                format!("{} / {}{idler}", product(&t.drivers), product(&t.driven)),
                units.lead(t.pitch_cut_mm.value),
                wheels::error(t.error_ppm),
                match wheels::error(t.error_ppm).as_str() {
                    EXACT => "–".to_owned(),
                    _ => units.plain(t.error_over_mm.value, 4).replace('-', "−"),
                },
                t.half_nuts.clone(),
            ]
        })
        .collect();
    let over = format!("Over {}", sheet.train.over(units));
    let columns = vec![
        Column::left("Drivers / driven", 0.3),
        Column::right("Cuts", 0.15),
        Column::right("Error", 0.13),
        Column::right(&over, 0.15),
        Column::left("Half nuts", 0.27),
    ];
    Table::new(columns, &cells, width, 3.3)
}
