use super::worksheet::wrapped;
use crate::procedure::{Outline, Program};
use crate::quantity::UNITS;
use crate::record::Spot;
use crate::session::screens::judged_by;

/// Prints a procedure as a sheet for a lesson: of each circuit what its leak does on the road, as far as the procedure
/// says so, where it is read and what it is judged by, with room for what a student expects, reads and makes of it.
pub(crate) fn lesson(program: &Program, outline: &Outline) -> String {
    let title = &program.title;
    let mut lines = vec![
        format!("{}, version {}: a lesson", title.title, title.version),
        "=".repeat(80),
        "Name ______________________________   Date ____________".to_owned(),
        String::new(),
    ];
    lines.extend(wrapped(
        "",
        "The unit's service information, local codes and a licensed technician's judgement go before this sheet. A standard \
         reading is what a rig set to 25 and 5 inHg through a 0.035 in hole shows at sea level; on another rig or higher up \
         the needle shows something else, and spoolproof worksheet prints what.",
    ));
    for (n, circuit) in outline.circuits.iter().enumerate() {
        let port = circuit.port.as_ref().map(|port| format!(", port {port}")).unwrap_or_default();
        lines.push(String::new());
        lines.extend(wrapped(&format!("{:>2}  ", n + 1), &format!("{}{port}", circuit.name).to_uppercase()));
        let labels = outline.readings.iter().filter(|known| known.circuit == circuit.name);
        let labels = labels.map(|known| known.label.as_str());
        let labels = labels.collect::<Vec<_>>().join("; ");
        let judged =
            circuit.limits.as_ref().map(|limits| judged_by(limits, &Spot::default(), None, None, &UNITS[0]));
        for (label, text) in [
            ("On the road: ", circuit.means.clone().unwrap_or_default()),
            ("Complaints: ", circuit.symptoms.join(", ")),
            ("Read: ", labels),
            ("Judged by: ", judged.unwrap_or_else(|| "limits that are to be found".to_owned())),
        ] {
            if !text.is_empty() {
                lines.extend(wrapped(&format!("    {label}"), &text));
            }
        }
        lines
            .push("    Before you read: what do you expect, and why? ___________________________".to_owned());
        lines.push("    Readings ________  ________  ________   standard reading ________".to_owned());
        lines.push("    Verdict ______________  sure ____ %   cause ____________________________".to_owned());
        lines
            .push("    What is to be done, and what if you are wrong? __________________________".to_owned());
    }
    lines.join("\n") + "\n"
}
