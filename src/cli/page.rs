use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;

use clap::Args;

use super::status::{Failure, Outcome};
use crate::console::Screen;
use crate::page::{Board, Heading, SaidKind, Server, State};
use crate::picture::DRAWING;
use crate::procedure::Program;
use crate::record::{Opening, Shop};
use crate::session::{Ended, Prompt, SessionError, screens};

/// The page of a session, beside the terminal.
#[derive(Debug, Args)]
pub(super) struct PageArguments {
    /// Show the session in a browser of this machine too, and let it be answered there; with an address, as
    /// 0.0.0.0:8080, on a tablet of the shop's network, after typing a code
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, default_missing_value = ANYWHERE_HERE, value_parser = address)]
    page: Option<SocketAddr>,
}

/// The page of a session that is being walked; it ends with it.
pub(super) struct Page {
    board: Arc<Board>,
    server: Server,
    /// The address that it was asked for at.
    asked_at: SocketAddr,
}

/// Where a page is that no address is named for: on this machine, at any port that is free.
const ANYWHERE_HERE: &str = "127.0.0.1:0";

impl PageArguments {
    /// Opens the prompt, and the page beside it where one is wanted; says where it is found.
    pub(super) fn prompt(&self, answers: Option<&Path>) -> Result<(Prompt, Option<Page>), Failure> {
        let prompt = Prompt::open(answers).map_err(Failure::wrong)?;
        let Some(address) = self.page else { return Ok((prompt, None)) };
        let (prompt, page) = beside(prompt, address)?;
        Ok((prompt, Some(page)))
    }

    /// Opens the prompt with a page beside it in any case, at which a picture is clicked.
    pub(super) fn for_clicks(&self) -> Result<(Prompt, Page), Failure> {
        let prompt = Prompt::open(None).map_err(Failure::wrong)?;
        beside(prompt, self.page.unwrap_or((Ipv4Addr::LOCALHOST, 0).into()))
    }
}

/// Opens a page beside a prompt, and says there where it is found.
fn beside(mut prompt: Prompt, address: SocketAddr) -> Result<(Prompt, Page), Failure> {
    let board = Arc::<Board>::default();
    let server = Server::open(Arc::clone(&board), address).map_err(Failure::wrong)?;
    let where_it_is = server.addresses().join("\n");
    let told = match address.ip().is_loopback() {
        true => format!("In a browser of this machine the session is at:\n{where_it_is}"),
        false => format!(
            "In a browser on the shop's network the session is at this address; where it is opened without what stands \
             behind #, it asks for the code {}:\n{where_it_is}",
            server.code()
        ),
    };
    prompt.screen.paragraph(screens::INDENT, &told);
    Ok((
        prompt.with_page(Arc::clone(&board)).map_err(Failure::wrong)?,
        Page { board, server, asked_at: address },
    ))
}

fn address(text: &str) -> Result<SocketAddr, String> {
    if let Ok(port) = text.parse() {
        return Ok((Ipv4Addr::LOCALHOST, port).into());
    }
    text.parse().map_err(|_| {
        "the address of a page is one of this machine's with a port, as 0.0.0.0:8080, or a port alone; what else is given stands \
         before --page"
            .to_owned()
    })
}

impl Page {
    /// Returns what stands behind a command that is to open such a page again.
    pub(super) fn flag(&self) -> String {
        match self.asked_at.to_string() {
            address if address == ANYWHERE_HERE => " --page".to_owned(),
            address => format!(" --page {address}"),
        }
    }

    /// Says on the page too what a screen says from now on.
    pub(super) fn hears(&self, screen: &mut Screen) {
        screen.heard_by(self.board.listener());
    }

    /// Shows what is walked, by whom, and how it is gone on with.
    pub(super) fn opened(&self, opening: &Opening, tester: Option<&str>, resume: &str) {
        let identity = &opening.procedure;
        self.board.show(|sight| {
            sight.heading = Heading {
                procedure: format!("{}, version {}", identity.title, identity.version),
                unit: identity.unit.clone(),
                session: opening.session.clone(),
                technician: tester.map(str::to_owned),
                resume: resume.to_owned(),
            };
        });
    }

    /// What it shows, and what is typed there.
    pub(super) fn board(&self) -> &Arc<Board> {
        &self.board
    }

    /// Has the pictures of a procedure at hand: its own, or what the shop keeps of them.
    pub(super) fn hold_pictures(&self, shop: &Shop, program: &Program) {
        for digest in program.source.picture_digests() {
            let own = program.source.picture(&digest.name).cloned();
            if let Some(picture) = own.or_else(|| shop.kept_picture(&digest.sha256, DRAWING)) {
                self.board.hold_picture(&digest.name, &picture);
            }
        }
    }

    /// Shows that the session is over; what is said from now on is what came of it.
    pub(super) fn is_over(&self, ended: &Result<Ended, SessionError>) {
        self.board.close(match ended {
            Ok(Ended::Finished(..)) => State::Ended,
            Ok(Ended::Parked) => State::Parked,
            Ok(Ended::Lost(_) | Ended::Stranded(..) | Ended::Broken(_)) | Err(_) => State::Stopped,
        });
    }

    /// Closes the page, when browsers have seen what came out, or shortly after.
    pub(super) fn close(self, outcome: &Outcome) {
        if let Err(failure) = outcome {
            self.board.say(SaidKind::Told, &failure.text);
        }
        self.server.close();
    }
}
