//! Man pages and completions, from the command line itself.

use clap_complete::Shell;
use std::path::{Path, PathBuf};

/// The program's name.
const NAME: &str = "flanklight";

/// A failure as a sentence.
pub(crate) fn failed(what: &Path, e: &std::io::Error) -> String {
    format!("{}: {e}", what.display())
}

/// Writes a man page for the program and each of its commands.
///
/// # Errors
/// A sentence that names the file.
pub fn man(folder: &Path) -> Result<Vec<PathBuf>, String> {
    std::fs::create_dir_all(folder).map_err(|e| failed(folder, &e))?;
    let mut command = workbench::cli::command().name(NAME);
    command.build();
    let mut files = Vec::new();
    let pages = command.get_subcommands().filter(|c| c.get_name() != "help");
    for (name, page) in std::iter::once((NAME.to_owned(), command.clone()))
        .chain(pages.map(|c| (format!("{NAME}-{}", c.get_name()), c.clone())))
    {
        let mut text = Vec::new();
        let path = folder.join(format!("{name}.1"));
        clap_mangen::Man::new(page).render(&mut text).map_err(|e| failed(&path, &e))?;
        std::fs::write(&path, text).map_err(|e| failed(&path, &e))?;
        files.push(path);
    }
    Ok(files)
}

/// Writes completions for three shells, each under the name its shell looks for.
///
/// # Errors
/// A sentence that names the file.
pub fn completions(folder: &Path) -> Result<Vec<PathBuf>, String> {
    std::fs::create_dir_all(folder).map_err(|e| failed(folder, &e))?;
    let mut files = Vec::new();
    for (shell, name) in
        [(Shell::Bash, "flanklight"), (Shell::Zsh, "_flanklight"), (Shell::Fish, "flanklight.fish")]
    {
        let mut text = Vec::new();
        clap_complete::generate(shell, &mut workbench::cli::command(), NAME, &mut text);
        let path = folder.join(name);
        std::fs::write(&path, text).map_err(|e| failed(&path, &e))?;
        files.push(path);
    }
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_command_has_its_page_and_is_completed() {
        let folder = tempfile::tempdir().unwrap();
        let pages = man(folder.path()).unwrap();
        let completed = completions(folder.path()).unwrap();
        let commands: Vec<String> = workbench::cli::command()
            .get_subcommands()
            .map(|c| c.get_name().to_owned())
            .filter(|n| n != "help")
            .collect();
        assert!(commands.len() > 10 && commands.iter().any(|c| c == "measure"), "{commands:?}");
        assert_eq!(pages.len(), commands.len() + 1);
        for name in &commands {
            let page = folder.path().join(format!("flanklight-{name}.1"));
            let text = std::fs::read_to_string(&page).unwrap();
            assert!(text.contains(".TH") && text.contains("SYNOPSIS"), "{name}");
            for file in &completed {
                let text = std::fs::read_to_string(file).unwrap();
                assert!(text.contains(name.as_str()), "{name} is not in {}", file.display());
            }
        }
        let measure = std::fs::read_to_string(folder.path().join("flanklight-measure.1")).unwrap();
        assert!(measure.contains("bar"), "{measure}");
    }
}
