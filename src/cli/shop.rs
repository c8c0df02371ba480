use clap::{Args, Subcommand};

use super::arguments::ShopFolder;
use super::job::noted;
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::Alone;
use crate::history::Address;
use crate::record::ShopAddress;

/// See or set the shop's name and address, which head its reports.
#[derive(Debug, Args)]
pub(super) struct ShopCommand {
    #[command(subcommand)]
    command: Option<ShopSet>,
}

#[derive(Debug, Subcommand)]
enum ShopSet {
    /// Set what is given, and keep the rest; an empty text takes it out
    #[command(arg_required_else_help = true)]
    Set {
        /// The shop's name
        #[arg(long, value_name = "TEXT", value_parser = noted)]
        name: Option<String>,
        /// Street and place, on one line
        #[arg(long, value_name = "TEXT", value_parser = noted)]
        address: Option<String>,
        /// The telephone number, or how else the shop is reached
        #[arg(long, value_name = "TEXT", value_parser = noted)]
        phone: Option<String>,
        /// The server that benches share, as postgres://LOGIN@HOST/DATABASE: each session's end hands its record over
        #[arg(long, value_name = "ADDRESS")]
        database: Option<String>,
    },
}

impl ShopCommand {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let mut screen = Screen::stdout();
        let shop = shop.open()?;
        let failed = |error| Failure::file(&shop.address(), error);
        if let Some(ShopSet::Set { name, address, phone, database }) = self.command {
            if let Some(named) = database.as_deref().filter(|named| !named.is_empty()) {
                Address::parse(named)?;
            }
            let _alone = Alone::in_folder(shop.root()).map_err(|error| Failure::file(shop.root(), error))?;
            let before = ShopAddress::of(&shop).map_err(failed)?;
            let or =
                |new: Option<String>, old| new.map_or(old, |new| Some(new).filter(|new| !new.is_empty()));
            let now = ShopAddress {
                name: or(name, before.name),
                address: or(address, before.address),
                phone: or(phone, before.phone),
                database: or(database, before.database),
            };
            now.write(&shop).map_err(failed)?;
        }
        let address = ShopAddress::of(&shop).map_err(failed)?;
        if address.lines().next().is_none() {
            screen.say(
                "Nothing is set, so reports have no head. Set it with shop set --name, --address and --phone.",
            );
        }
        address.lines().for_each(|line| screen.line(line));
        if let Some(database) = &address.database {
            screen.line(&format!("Server: {database}"));
        }
        Ok(Status::Done)
    }
}
