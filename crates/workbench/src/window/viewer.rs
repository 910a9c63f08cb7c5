//! Handing a finished PDF to the desktop's own viewer, which prints.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// A viewer that is still there after this long is showing the file.
const STAYS: Duration = Duration::from_secs(4);

/// Who shows a file to the person.
pub type Viewer = std::sync::Arc<dyn Fn(&Path) -> Result<(), String> + Send + Sync>;

/// The desktop's own.
#[must_use]
pub fn of_desktop() -> Viewer {
    std::sync::Arc::new(show)
}

/// Opens `path` with the program the desktop has for it. Waits until that has begun, or has failed.
fn show(path: &Path) -> Result<(), String> {
    let program = if cfg!(target_os = "windows") {
        "explorer"
    } else if cfg!(target_os = "macos") {
        "open"
    } else {
        "xdg-open"
    };
    let mut child = Command::new(program)
        .arg(path)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|_| format!("{program} is not there"))?;
    let until = Instant::now() + STAYS;
    loop {
        match child.try_wait() {
            Ok(Some(status)) if status.success() => return Ok(()),
            // The file manager of Windows ends with 1 although it has opened the file.
            Ok(Some(_)) if cfg!(target_os = "windows") => return Ok(()),
            Ok(Some(_)) => return Err("it names no program for that".to_owned()),
            Ok(None) if Instant::now() > until => {
                // It is reaped when it ends, long after this.
                let _ = std::thread::Builder::new()
                    .name("flanklight-viewer".into())
                    .spawn(move || child.wait());
                return Ok(());
            }
            Ok(None) => std::thread::sleep(Duration::from_millis(40)),
            Err(e) => return Err(format!("{program}: {e}")),
        }
    }
}
