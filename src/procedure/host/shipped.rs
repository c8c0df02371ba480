use super::{Fault, Source};
use crate::record::Origin;

/// A procedure that is built into the program.
#[derive(Debug)]
pub struct Shipped {
    /// Its short name.
    pub id: &'static str,
    /// Its files, each with its text; its own first.
    files: &'static [(&'static str, &'static str)],
}

/// Every procedure that is built in; the first is the one to try first.
pub const SHIPPED: &[Shipped] = &[
    Shipped {
        id: "tarn-t6-lower",
        files: &[("tarn-t6-lower.rhai", include_str!("../../../procedures/tarn-t6-lower.rhai"))],
    },
    Shipped {
        id: "corrie-c4-main",
        files: &[("corrie-c4-main.rhai", include_str!("../../../procedures/corrie-c4-main.rhai"))],
    },
    Shipped {
        id: "rig-commissioning",
        files: &[("rig-commissioning.rhai", include_str!("../../../procedures/rig-commissioning.rhai"))],
    },
    Shipped {
        id: "test-orifice",
        files: &[("test-orifice.rhai", include_str!("../../../procedures/test-orifice.rhai"))],
    },
    Shipped {
        id: "class-study",
        files: &[("class-study.rhai", include_str!("../../../procedures/class-study.rhai"))],
    },
];

impl Shipped {
    /// Returns its text.
    ///
    /// # Errors
    /// A fault where a file is no text, which no shipped one is.
    pub fn source(&self) -> Result<Source, Fault> {
        let files = self.files.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec()));
        Source::from_files(self.id, files).map(|source| source.coming_from(Origin::Shipped, None))
    }
}
