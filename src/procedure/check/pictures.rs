use rhai::{ASTNode, Expr, FnCallExpr};

use super::super::host::FoundPicture;
use super::super::language::{Description, KnownValue};
use super::super::{Fault, Source, is_picture_name, nearest};
use super::calls::value_of;
use super::names::start_of;
use super::{FileCheck, call, visit};
use crate::record::Pixel;

const NAMED: &str = "name a PNG or JPEG file beside the procedure, as in \"lower-body.png\"";

/// Returns what a step is shown with: the second thing between its brackets, unless that is a text which was not
/// joined to the first.
pub(super) fn shown_with(call: &FnCallExpr) -> Option<&Expr> {
    let is_words = |text: &str| text.contains(' ') || !text.contains('.');
    let second = call.args.get(1).filter(|_| call.namespace.is_empty() && call.name == "ready")?;
    match second {
        Expr::StringConstant(text, _) if is_words(text) => None,
        second => Some(second),
    }
}

impl FileCheck<'_> {
    /// Checks every picture that is named, and that no port lies outside of its picture.
    pub(super) fn pictures(&mut self, source: &Source) {
        visit(self.ast, |path| {
            if let Some(ASTNode::Expr(map @ Expr::Map(entries, _))) = path.last() {
                let named = entries.0.iter().find(|(key, _)| key.name == "picture");
                let size = named.and_then(|(_, picture)| self.picture(picture, source));
                if let (Some(size), KnownValue::Description(description)) = (size, value_of(map, &self.names))
                {
                    self.within(&description, size);
                }
            }
            if let Some(picture) = call(path).and_then(|(call, _)| shown_with(call)) {
                self.picture(picture, source);
            }
        });
    }

    /// Checks the name of a picture, and the picture; returns its width and height where those are known.
    fn picture(&mut self, named: &Expr, source: &Source) -> Option<(u32, u32)> {
        let at = start_of(named);
        let Expr::StringConstant(name, _) = named else {
            self.report(at, "the name of a picture is computed here", NAMED);
            return None;
        };
        let name = name.as_str();
        match source.pictures.iter().find(|picture| picture.name == name).map(|picture| &picture.found) {
            Some(FoundPicture::There(picture, _)) => Some((picture.width, picture.height)),
            Some(FoundPicture::Known(digest)) => Some((digest.width, digest.height)),
            Some(FoundPicture::Bad { why, help }) => {
                self.report(at, format!("{name} can't be shown: {why}"), *help);
                None
            }
            None if is_picture_name(name) => {
                let near = nearest(name, source.pictures.iter().map(|picture| picture.name.as_str()));
                let help = match near {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => format!("put {name} beside the procedure"),
                };
                self.report(at, format!("there is no picture \"{name}\" in the procedure's folder"), help);
                None
            }
            None => {
                self.report(at, format!("\"{name}\" is no picture of the procedure's own folder"), NAMED);
                None
            }
        }
    }

    fn within(&mut self, description: &Description, (width, height): (u32, u32)) {
        let ports = description.part("ports").into_iter().flat_map(|ports| &ports.0);
        for (port, at) in ports.filter_map(|port| Some((port, port.value.point()?))) {
            let Pixel { x, y } = at;
            if x >= width || y >= height {
                let fault = Fault::of(format!(
                    "port {} lies outside of its picture, which is {width} x {height} pixels",
                    port.key
                ));
                let help = format!("its places go from [0, 0] to [{}, {}]", width - 1, height - 1);
                self.add(port.at, fault.help(help));
            }
        }
    }
}
