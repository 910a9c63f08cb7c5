//! `flanklight demo`: the whole job on a built-in demonstration.

use super::args::How;
use super::failure::Failure;
use super::{print, print_json, text, work};
use crate::demonstration;
use job::{Part, Record};
use std::path::{Path, PathBuf};

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
    let jpeg = shown.to_jpeg().map_err(|e| {
        Failure::NotMeasured(format!("the demonstration cannot be cast: {e}").into())
    })?;
    let sha256 = job::sha256_of(&jpeg);
    let picture = write(out, shown.name, shown.file_name(), jpeg)?;
    let whole = std::path::absolute(&picture).unwrap_or_else(|_| picture.clone());
    let mut job = demonstration::job(&shown, &whole, sha256);
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
    let record_file = write(out, shown.name, "measurement.json".into(), json.into_bytes())?;
    let today = job::today();
    let to = job::ExportTo { home: Some(&job_file), ..job::ExportTo::new(out, &today) };
    let sheets = job::export(&job, &findings, &to)?;
    let mut files = vec![picture, job_file, record_file];
    files.extend(sheets.files);
    files.push(out.join(job::LIST));
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

/// Writes a file of the demonstration called `of`, never over one that is not this program's.
fn write(folder: &Path, of: &str, name: String, bytes: Vec<u8>) -> Result<PathBuf, Failure> {
    let path = folder.join(&name);
    job::write_set(folder, (&format!("demonstration {of}"), ""), &[(name, bytes)], false).map_err(
        |e| {
            let text =
                format!("cannot write {}: {}. Choose another folder.", e.path.display(), e.source);
            Failure::Refused(text.into())
        },
    )?;
    Ok(path)
}
