//! What a grower reads.

use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::sentence::Sentence;
use caneplot_plugin::words::{beginning, inside, list};

use crate::ahead::ahead;
use crate::areas;
use crate::study::Study;

/// Sums are told in whole units of the currency, below ten with cents.
pub(crate) fn sums(largest: f64) -> Format {
    Format::Decimals(if largest.abs() < 10.0 { 2 } else { 0 })
}

/// The sentences, the headline first.
pub(crate) fn statements(study: &Study<'_>) -> Vec<Statement> {
    let mut all: Vec<Statement> = headline(study).into_iter().collect();
    let others = study.others();
    all.extend(others.iter().flat_map(|&at| without_crop(study, at)));
    all.extend(study.leader().and_then(|leader| even(study, leader)));
    all.extend(rates(study));
    all.extend(best(study));
    all.extend(over_the_trial(study));
    all.extend(ahead(study).iter().map(|one| look_ahead(study, one)));
    all
}

/// The sum on the first area and, in brackets, on the other.
fn both(study: &Study<'_>, sentence: Sentence, money: f64) -> Sentence {
    let first = study.prices.area;
    let second = areas::other(first);
    let (a, b) = (study.on(first, money), study.on(second, money));
    sentence
        .number_in(a, sums(a), &study.unit(first))
        .text(" (")
        .number_in(b, sums(a), &study.unit(second))
        .text(")")
}

fn headline(study: &Study<'_>) -> Option<Statement> {
    let leader = study.leader()?;
    let control = study.words(study.set.control);
    let net = study.net(leader);
    let interval = study.interval(leader);
    let clear = interval.is_some_and(|(low, high)| low > 0.0 || high < 0.0);
    let name = beginning(&study.words(leader));
    let year = study.prices.year;
    let price = format!(" a season, at the prices of {year} that this trial declares");
    let sentence = match (net >= 0.0, interval.is_some(), clear) {
        (true, true, true) | (true, false, _) => {
            let start = Sentence::default().literal(&format!("{name} left "));
            both(study, start, net).literal(&format!(" more than {control}{price}"))
        }
        (false, true, true) | (false, false, _) => {
            let start = Sentence::default().literal(&format!(
                "No treatment left more than the control, {control}: {} came nearest and left ",
                inside(&name)
            ));
            both(study, start, -net).literal(&format!(" less{price}"))
        }
        (_, true, false) => {
            let more = if net >= 0.0 { "more" } else { "less" };
            let start = Sentence::default().literal(&format!(
                "No clear gain or loss of money against the control, {control}: the best of the others, {}, left ",
                inside(&name)
            ));
            both(study, start, net.abs()).literal(&format!(" {more}{price}"))
        }
    };
    let sentence = match interval {
        Some((low, high)) => {
            let area = study.prices.area;
            let (low, high) = (study.on(area, low), study.on(area, high));
            let format = sums(study.first(net));
            sentence
                .text(&format!(" ({} interval ", study.options.confidence_words()))
                .number(low, format)
                .text(" to ")
                .number_in(high, format, &study.unit(area))
                .text(")")
        }
        None => sentence,
    };
    Some(sentence.text(".").ranked(Rank::Headline))
}

/// Where the trial does not show that the crop differs, the money without any effect on the crop.
fn without_crop(study: &Study<'_>, at: usize) -> Option<Statement> {
    if study.crop_is_clear(at) != Some(false) {
        return None;
    }
    let money = study.net_beside_crop(at);
    let more = if money >= 0.0 { "more" } else { "less" };
    let start = Sentence::default().literal(&format!(
        "The trial shows no clear difference of crop between {} and {}; if there is none, {0} leaves ",
        study.words(at),
        study.words(study.set.control)
    ));
    Some(
        both(study, start, money.abs())
            .text(&format!(" {more} a season."))
            .statement(),
    )
}

/// Where the leader's gain turns into a loss.
fn even(study: &Study<'_>, at: usize) -> Option<Statement> {
    if !study.one_price() {
        return None;
    }
    let change = study.change(at);
    let control = study.words(study.set.control);
    let name = study.words(at);
    let per = &study.prices.crop.per;
    let weight = study.prices.crop.per_kg / 1000.0;
    let currency = &study.prices.currency;
    let mut parts = Vec::new();
    if let Some(price) = change.even_price() {
        let price = price * weight;
        let of = Sentence::new("at a price of ").number_in(
            price,
            sums(price),
            &format!("{currency}/{per}"),
        );
        parts.push(of);
    }
    if let Some(wage) = change.even_wage().filter(|_| study.prices.wage.is_some()) {
        let of = Sentence::new("at a wage of ").number_in(
            wage,
            Format::Decimals(2),
            &format!("{currency}/h"),
        );
        parts.push(of);
    }
    if let Some(crop) = change.even_crop() {
        let crop = study.first(crop) / weight;
        let more = if crop >= 0.0 { "more" } else { "less" };
        let unit = format!("{per}/{}", areas::word(study.prices.area));
        let of = Sentence::new("where its crop is ")
            .number_in(crop.abs(), Format::Decimals(2), &unit)
            .text(&format!(" {more} than the control's"));
        parts.push(of);
    }
    let count = parts.len();
    let mut sentence = Sentence::default().literal(&format!(
        "{} and {control} come out even ",
        beginning(&name)
    ));
    for (place, part) in parts.into_iter().enumerate() {
        let joint = match place {
            0 => "",
            _ if place + 1 == count => ", or ",
            _ => ", ",
        };
        sentence = sentence.text(joint).then(part);
    }
    (count > 0).then(|| sentence.text(", all else being as reckoned.").statement())
}

/// What each further step of costs brings.
fn rates(study: &Study<'_>) -> Option<Statement> {
    let steps = study.steps();
    let dominated: Vec<String> = steps
        .iter()
        .filter(|step| step.dominated)
        .map(|step| study.words(step.of))
        .collect();
    let mut sentence = Sentence::default();
    let mut any = false;
    for step in &steps {
        let Some((from, rate)) = step.rate else {
            continue;
        };
        let start = if any { "; from " } else { "From " };
        sentence = sentence
            .literal(&format!(
                "{start}{} to {} every further ",
                study.words(from),
                study.words(step.of)
            ))
            .text(&format!(
                "{} of costs brings back itself and ",
                study.prices.currency
            ))
            .number(rate, Format::Decimals(2))
            .text(" more");
        any = true;
    }
    if !dominated.is_empty() {
        let start = if any { ". " } else { "" };
        let verb = if dominated.len() == 1 {
            "costs"
        } else {
            "cost"
        };
        sentence = sentence.literal(&format!(
            "{start}{} {verb} no less than another treatment that leaves at least as much",
            beginning(&list(&dominated))
        ));
        any = true;
    }
    any.then(|| sentence.text(".").statement())
}

/// The chance of the leader, in words of chance.
fn best(study: &Study<'_>) -> Option<Statement> {
    let chances = study.chances.as_ref()?;
    let leader = study.leader()?;
    Some(
        Sentence::default()
            .literal(&format!(
                "The chance that {} leaves more than the control is ",
                study.words(leader)
            ))
            .number(chances.better[leader], Format::Percent(0))
            .text(", and that it leaves most of all treatments ")
            .number(chances.best[leader], Format::Percent(0))
            .text(", as far as crop and measured work are uncertain and prices hold.")
            .statement(),
    )
}

/// Seasons in which the leader was ahead, and the sum of all of them.
fn over_the_trial(study: &Study<'_>) -> Option<Statement> {
    let leader = study.leader()?;
    let control = study.set.control;
    let nets: Vec<f64> = study
        .seasons
        .iter()
        .map(|season| season.benefit[leader] - season.benefit[control])
        .collect();
    if nets.len() < 2 {
        return None;
    }
    let ahead = nets.iter().filter(|net| **net > 0.0).count();
    let total: f64 = nets.iter().sum();
    let start = Sentence::default()
        .literal(&format!(
            "{} left more than the control in ",
            beginning(&study.words(leader))
        ))
        .number(ahead as f64, Format::Count)
        .text(" of ")
        .number(nets.len() as f64, Format::Count)
        .text(" seasons, and over all of them together ");
    let more = if total >= 0.0 { "more" } else { "less" };
    Some(
        both(study, start, total.abs())
            .text(&format!(" {more}."))
            .statement(),
    )
}

fn look_ahead(study: &Study<'_>, one: &crate::ahead::Ahead) -> Statement {
    let years = study
        .prices
        .conversion
        .as_ref()
        .map_or(0, |conversion| conversion.years);
    let interest = study.prices.interest.unwrap_or(0.0);
    let worth = if one.value >= 0.0 { "gain" } else { "loss" };
    let start = Sentence::default()
        .literal(&format!(
            "Changing over to {}, looked at for ",
            study.words(one.treatment)
        ))
        .number(f64::from(years), Format::Count)
        .text(" years at ")
        .number(interest, Format::Percent(1))
        .text(" interest, with ")
        .number(f64::from(one.lost), Format::Count)
        .text(if one.lost == 1 { " season" } else { " seasons" })
        .text(&format!(" without a crop, is worth a {worth} of "));
    let sentence = both(study, start, one.value.abs()).text(" now");
    let sentence = match one.paid_after {
        Some(0) => sentence.text("; it never costs more than it has brought"),
        Some(year) => sentence
            .text("; it has paid by the end of year ")
            .number(f64::from(year), Format::Count),
        None => sentence.text("; it does not pay within that time"),
    };
    sentence.text(".").statement()
}
