//! `forerun start`: a small course, laid out in a folder of its own.

use crate::finding::Finding;
use crate::read::source::Inside;
use std::fs;
use std::path::Path;

/// Writes the files of a new course into `folder`, which must be empty or not be there.
///
/// # Errors
/// The folder holds something, is none, or cannot be written to.
pub fn lay_out(folder: &Path, files: &Inside) -> Result<(), Finding> {
    let shown = folder.display().to_string();
    if let Ok(mut entries) = fs::read_dir(folder)
        && entries.next().is_some()
    {
        let finding = Finding::whole(&shown, "is not empty; nothing was written");
        return Err(finding.mend("name a folder that is not there yet"));
    }
    for (path, bytes) in files {
        let place = folder.join(path);
        let parent = place.parent().unwrap_or(folder);
        fs::create_dir_all(parent)
            .and_then(|()| fs::write(&place, bytes))
            .map_err(|error| {
                let place = place.display().to_string();
                Finding::whole(&place, format!("cannot be written: {error}"))
            })?;
    }
    Ok(())
}
