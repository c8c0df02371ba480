use crate::quantity::shown;
use crate::record::Account;

/// Writes what the decisions cost and save.
pub(crate) fn account(account: &Account) -> String {
    // Whole sums stay whole; any other has its cents.
    let sum = |figure: f64| if figure.fract() == 0.0 { shown(figure, 0) } else { format!("{figure:.2}") };
    let money = |figure: f64| match &account.prices.currency {
        Some(currency) => format!("{} {currency}", sum(figure)),
        None => sum(figure),
    };
    let hours = shown(account.hours, 1);
    let hour = if hours == "1" { "hour" } else { "hours" };
    let mut text = format!("Parts {}, {hours} {hour} of work", money(account.parts));
    if let Some(total) = account.total.filter(|_| account.prices.labour_per_hour.is_some()) {
        text += &format!(", together {}", money(total));
    }
    if let Some(saved) = account.saved {
        let than = if saved >= 0.0 { "less" } else { "more" };
        text += &format!("; {} {than} than a replacement", money(saved.abs()));
    }
    text + ". Advice by the figures at hand, never a guarantee."
}
