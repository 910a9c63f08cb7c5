//! The page printed instead of numbers when a thread's use forbids them.

use crate::info::SheetInfo;
use crate::page::Page;
use crate::paper::drawing::{Anchor, Drawing};
use crate::paper::geometry::pt;
use shop::{About, UseOfThread};

/// The refusal, when the thread's use calls for one.
pub(crate) fn refused(info: &SheetInfo, title: &str) -> Option<Vec<Drawing>> {
    info.thread_use.permit().err().map(|r| refusal(info, title, r.use_of_thread))
}

/// One page that says politely that, and why, there are no numbers.
fn refusal(info: &SheetInfo, title: &str, refused: UseOfThread) -> Vec<Drawing> {
    let mut page = Page::new(info, title, &[About::Everything], &[]);
    let body = page.body;
    let d = page.canvas();
    let left = body.left + 8.0;
    let width = body.width() - 16.0;
    let mut y = body.top - 30.0;
    d.write_bold(pt(left, y), "No dimensions are given for this thread", 6.0, Anchor::Start);
    y -= 14.0;
    for paragraph in [
        format!("The job says that it is a thread that {}.", refused.words()),
        "If such a thread or its nut fails, people can be hurt. Its material, form, length of \
         engagement and inspection must be specified by a competent, licensed person under the \
         code that holds where it is used. A picture cannot show what such a person must know: \
         material, heat treatment, cracks, wear hidden inside, the load it really carries."
            .into(),
        "Please ask the maker of the machine for the part, or a licensed engineer or workshop to \
         make it."
            .into(),
        "If the job was described wrongly, correct the use of the thread in the job and print the \
         sheets again."
            .into(),
    ] {
        y = d.write_wrapped(pt(left, y), &paragraph, width, 4.4, 6.2) - 5.0;
    }
    vec![page.drawing]
}
