use std::fs;
use std::path::Path;

use sha2::{Digest, Sha256};

use super::{Audit, Fault};

/// What the shop has of a procedure's file that ran.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeptFile {
    /// The file itself.
    Same,
    /// A file that is kept for it, but is another one.
    Altered,
    /// Nothing.
    Missing,
}

impl Audit {
    /// Looks for the procedure's files among those that the shop keeps by their digests, in the record's order, and
    /// adds a fault for each that is not what its name says.
    pub fn look_for_files(&mut self, folder: &Path) -> Vec<KeptFile> {
        let mut found = Vec::new();
        for file in &self.files {
            let kept = match fs::read(folder.join(format!("{}.rhai", file.sha256))) {
                Err(_) => KeptFile::Missing,
                Ok(bytes) if hexadecimal(&Sha256::digest(&bytes)) == file.sha256 => KeptFile::Same,
                Ok(_) => KeptFile::Altered,
            };
            if kept == KeptFile::Altered {
                self.faults.push(Fault::File { name: file.name.clone() });
            }
            found.push(kept);
        }
        found
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
