//! Files that are handed out put in place: each is written aside and renamed, so that a reader never sees half of one. What
//! stands in them is made elsewhere.

use super::failure::Failure;
use super::files;
use crate::handover::HandoverFile;
use crate::handover::package::DESCRIPTOR;
use crate::text::clean::shown;
use std::io;
use std::path::Path;

/// Puts a folder of files in place whole. An earlier data package there is replaced; anything else is left alone.
///
/// # Errors
/// If something else is there, or the folder cannot be written; what was there is then as it was.
pub fn put_package(folder: &Path, made: &[HandoverFile]) -> Result<(), Failure> {
    let there = files::listed(folder).map_err(|error| failed(folder, &error))?;
    if let Some(there) = &there {
        let is_ours = |name: &String| made.iter().any(|file| file.name == *name);
        let stranger = there.iter().find(|name| !is_ours(name));
        let is_package = there.is_empty() || there.iter().any(|name| name == DESCRIPTOR);
        if !is_package || stranger.is_some() {
            let holds =
                stranger.map_or(String::new(), |name| format!(": it holds {}", shown(name)));
            return Err(Failure::could(format!(
                "{} is there already and is no earlier export alone{holds}.",
                shown(&folder.to_string_lossy())
            ))
            .hint("Name a folder that is not there yet. Nothing was written."));
        }
    }
    files::put_folder(folder, made, there.is_some()).map_err(|error| failed(folder, &error))
}

/// Puts files into a folder, each whole; the folder is made if it is missing.
///
/// # Errors
/// If one cannot be written; those before it are in place.
pub fn put_files(folder: &Path, made: &[HandoverFile]) -> Result<(), Failure> {
    files::make_folder(folder).map_err(|error| failed(folder, &error))?;
    for file in made {
        let path = folder.join(&file.name);
        files::put_bytes(&path, &file.bytes).map_err(|error| failed(&path, &error))?;
    }
    Ok(())
}

/// Puts one file in place whole; one of its name is replaced.
///
/// # Errors
/// If it cannot be written; one that was there is then as it was.
pub fn put_file(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    files::put_bytes(path, bytes).map_err(|error| failed(path, &error))
}

fn failed(path: &Path, error: &io::Error) -> Failure {
    let path = shown(&path.to_string_lossy());
    Failure::could(format!("{path} could not be written ({error})."))
}
