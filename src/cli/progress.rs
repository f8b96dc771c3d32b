//! How far long work has come.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Less is done before anybody has looked.
const LEAST_FILES: usize = 8;

/// A bar over files: how many, how many a second, how long it will take. It shows on a terminal only.
pub(super) fn bar(files: usize) -> ProgressBar {
    if files < LEAST_FILES {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(files as u64);
    let template = "{bar:30} {human_pos} of {human_len} files, {per_sec:.1}, {eta} left";
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}
