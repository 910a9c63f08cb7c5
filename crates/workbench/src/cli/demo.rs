//! `flanklight demo`: the whole job on a built-in demonstration.

use super::args::How;
use super::failure::Failure;
use super::{print, print_json, text, work};
use crate::demonstration;
use job::{Part, Record};
use std::path::Path;

pub(super) fn run(name: Option<&str>, out: &Path, how: How) -> Result<(), Failure> {
    let Some(shown) = demonstration::named(name) else {
        let names: Vec<&str> = lamp::demonstrations().iter().map(|d| d.name).collect();
        return Err(Failure::Usage(
            format!(
                "there is no demonstration \"{}\"; there are {}",
                name.unwrap_or_default(),
                names.join(", ")
            )
            .into(),
        ));
    };
    let (mut job, picture) =
        demonstration::write(&shown, out).map_err(|why| Failure::Refused(why.into()))?;
    let loaded = work::read(&picture)?;
    let job_file = out.join(format!("{}.flanklight.json", shown.name));
    let findings = work::findings(&job, Some(&loaded));
    job.remember(&findings.memory);
    job::save(&job, &job_file)?;
    let Some(record) = Record::of(&findings, &picture) else {
        return Err(Failure::without_measurement(&findings));
    };
    let json = serde_json::to_string_pretty(&record).map_err(|e| {
        Failure::NotMeasured(format!("the result cannot be written as JSON: {e}").into())
    })?;
    let record_file = out.join("measurement.json");
    job::write_whole(&record_file, json.as_bytes()).map_err(|e| {
        Failure::Refused(format!("cannot write {}: {e}", record_file.display()).into())
    })?;
    let today = work::today();
    let to = job::ExportTo { home: Some(&job_file), ..job::ExportTo::new(out, &today) };
    let sheets = job::export(&job, &findings, &to)?;
    let mut files = vec![picture, job_file, record_file];
    files.extend(sheets);
    if how.json {
        return print_json(&record);
    }
    let units = how.units();
    print(&format!("{}\n\n", shown.title));
    print(&text::wrapped(shown.story, "  "));
    print("\n");
    print(&text::measurement(&findings, units));
    print("\n");
    if let Some(m) = &findings.measurement {
        print(&text::budget(m, units));
        print("\n");
    }
    if let Some(ranking) = &findings.ranking {
        print(&text::candidates(ranking, units));
        print("\n");
    }
    if let Some(tool) = &findings.tool {
        print("Tool for the nut: copies the screw's ridge, not its groove\n\n");
        print(&text::rows(&super::workshop::tool_rows(tool, units)));
        print("\n");
    }
    print(&text::remarks(&findings, Part::Tool, units));
    print(&text::cautions(&shop::About::ALL));
    print("\nWritten\n\n");
    for file in &files {
        print(&format!("  {}\n", file.display()));
    }
    Ok(())
}
