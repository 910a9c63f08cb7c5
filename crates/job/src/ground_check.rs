//! The ground tool of a job, judged by its own picture.

use crate::evaluate::{Kept, Loaded, Progress, Stopped};
use crate::findings::{Findings, Part, Remark};
use crate::ground::{GroundFound, read_ground_tool};
use crate::job::Job;
use form::{Said, Sentence, sentence};
use picture::{Bar, DrawnWanted, PictureError, Scene};
use shop::{GroundCheck, ToolFor};
use std::sync::Arc;

/// A ground tool as its picture shows it, and what its errors do.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// Angles, tip and corner, and where in the picture they were found.
    pub found: GroundFound,
    /// Against the drawing, and what that does to the play.
    pub check: GroundCheck,
}

/// Outline and bar of the picture looked at last, so that a change of the nut does not trace it again.
#[derive(Debug)]
pub(crate) struct Seen {
    sha256: String,
    what: Outlines,
}

/// What is in the picture of a tool, and its bar; or why they are not found.
type Outlines = Result<(Arc<Scene>, Arc<Bar>), Sentence>;

/// How the time is shared out: tracing until here.
const TRACED: f32 = 0.9;

impl Kept {
    /// Adds to the findings of `job` what the picture of the ground tool says; nothing where none was
    /// chosen, or there is no tool for a nut to compare it with. `picture` is that picture, or why it
    /// cannot be read.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` said so.
    pub fn check_ground(
        &mut self,
        job: &Job,
        out: &mut Findings,
        picture: Result<&Loaded, &str>,
        progress: Progress<'_>,
    ) -> Result<(), Stopped> {
        let (Some(screw), Some(nut), Some(tool)) = (&out.screw, &out.nut, &out.tool) else {
            return Ok(());
        };
        if job.ground.picture.is_none() || tool.purpose != ToolFor::Nut {
            return Ok(());
        }
        let judged = match (picture, job.ground.bar_width_mm) {
            (Err(why), _) => Err(("ground-picture", why.into())),
            (_, None) => Err((
                "ground-bar-width",
                "the width of the bar beside the ground tool is not known yet: measure it and \
                 enter it with its unit."
                    .into(),
            )),
            (Ok(loaded), Some(width_mm)) => {
                let named = |text: Sentence| {
                    let name = loaded.path.file_name().unwrap_or(loaded.path.as_os_str());
                    ("ground", sentence!("{}: {}", name.to_string_lossy().into_owned(), text))
                };
                let from_below = job.ground.from_below;
                self.seen(loaded, progress)?
                    .and_then(|(scene, bar)| {
                        let found = read_ground_tool(&scene, &bar, width_mm, tool, from_below)
                            .map_err(|e| e.said())?;
                        let check = shop::check_ground_tool(screw, nut, tool, &found.tool)
                            .map_err(|e| e.said())?;
                        Ok(Ground { found, check })
                    })
                    .map_err(named)
            }
        };
        progress(1.0);
        match judged {
            Ok(ground) => {
                let said = ground.check.notices.iter();
                out.warnings.extend(said.map(|n| Remark::new(Part::Tool, &n.code, n.text.clone())));
                if ground.found.square_by_flanks {
                    out.warnings.push(Remark::new(
                        Part::Tool,
                        "square-by-flanks",
                        "the tip of the ground tool is too short in its picture to be square by: \
                         only the sum of both angles was seen, and its error is shared out evenly.",
                    ));
                }
                out.ground = Some(Arc::new(ground));
            }
            Err((code, text)) => out.troubles.push(Remark::new(Part::Tool, code, text)),
        }
        Ok(())
    }

    fn seen(&mut self, loaded: &Loaded, progress: Progress<'_>) -> Result<Outlines, Stopped> {
        if let Some(seen) = self.ground.as_ref().filter(|s| s.sha256 == loaded.sha256) {
            return Ok(seen.what.clone());
        }
        let told = |done| progress(TRACED * done);
        let what = match picture::trace(&loaded.picture.grey, DrawnWanted::Shadow, &told) {
            Err(PictureError::Cancelled) => return Err(Stopped),
            Err(e) => Err(e.to_string().into()),
            Ok(scene) => picture::find_bar(&scene, None)
                .map(|bar| (Arc::new(scene), Arc::new(bar)))
                // What a picture of a thread would be mended by does not hold here.
                .map_err(|_| {
                    "the bar beside the tool was not found. Both its long, straight edges must be \
                     in the picture, clear of the tool."
                        .into()
                }),
        };
        self.ground = Some(Seen { sha256: loaded.sha256.clone(), what: what.clone() });
        Ok(what)
    }
}
