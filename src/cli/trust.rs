use clap::{Args, Subcommand};
use serde_json::json;

use super::arguments::{ShopFolder, own_key, trust};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;

/// See whom the shop trusts to sign procedures, and no longer trust somebody.
///
/// Trust begins with receiving a pack.
#[derive(Debug, Args)]
pub(super) struct TrustCommand {
    #[command(subcommand)]
    command: Option<TrustVerb>,
}

#[derive(Debug, Subcommand)]
enum TrustVerb {
    /// List the shop's own key and the trusted signers, with their fingerprints
    List {
        /// Print one JSON document instead
        #[arg(long)]
        json: bool,
    },
    /// No longer trust a signer; what was installed of them stays, but is not used
    Forget {
        /// The signer's name
        name: String,
    },
}

impl TrustCommand {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let mut screen = Screen::stdout();
        let own = own_key(&shop)?.map(|own| own.signer().signer());
        let mut trust = trust(&shop)?;
        match self.command.unwrap_or(TrustVerb::List { json: false }) {
            TrustVerb::List { json: true } => {
                let trusted: Vec<_> = trust.signers().iter().map(|known| known.signer()).collect();
                screen.json(&json!({ "own": own, "trusted": trusted }));
            }
            TrustVerb::List { json: false } => {
                match own {
                    Some(own) => screen.item("this shop  ", &own.to_string()),
                    None => screen.line("This shop has not signed anything yet."),
                }
                if trust.signers().is_empty() {
                    screen.line("Nobody else is trusted yet; trust begins with receiving a pack.");
                }
                for known in trust.signers() {
                    screen.item("trusted    ", &known.signer().to_string());
                }
            }
            TrustVerb::Forget { name } => {
                let forgotten = trust.forget(&name).map_err(Failure::wrong)?;
                screen.paragraph(0, &format!("No longer trusted: {}", forgotten.signer()));
            }
        }
        Ok(Status::Done)
    }
}
