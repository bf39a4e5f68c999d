//! Counts without a ceiling: summed over the vines of a plot, or taken back from their means.

use caneplot_plugin::request::Basis;
use caneplot_plugin::{Call, Refusal, Table};

use crate::subject::{Kind, Record, Subject, capital_label, plot_words, uncounted};
use crate::vines::{WHOLE, numbers, sums, whole};
use crate::words::literal;

/// Fills in the counts of a response, or says why there are none.
///
/// # Errors
/// Where the tables are not as declared.
pub fn rates(call: &Call, plots: &Table, subject: &mut Subject) -> Result<Option<String>, Refusal> {
    let response = subject.response;
    let name = capital_label(response);
    if let Some(made) = &response.derived {
        return Ok(Some(format!(
            "{name}: values are made from other responses ({}), so they are no counts.",
            literal(made)
        )));
    }
    let mut missing = Vec::new();
    if let Some(sums) = sums(call, response)? {
        subject.kind = Kind::PerVine;
        for (row, sum) in sums.into_iter().enumerate() {
            if let Some(value) = sum.broken {
                return Ok(Some(not_whole(&name, value, &plot_words(plots, row))));
            }
            if sum.vines == 0.0 {
                missing.push(row);
                continue;
            }
            subject.records.push(Record {
                row,
                count: sum.value,
                size: sum.vines,
                vines: Some(sum.vines),
            });
        }
    } else {
        let values = numbers(plots, &response.name, Some(response.offset))?;
        let vines = match response.basis {
            Basis::Plot => None,
            Basis::LivingVine => Some("vines_alive"),
            Basis::PlantedSpace => Some("vines_planted"),
        };
        let sizes = match vines {
            None => vec![Some(1.0); plots.rows],
            Some(column) if plots.has(column) => numbers(plots, column, None)?,
            Some(_) if call.request.trial.vineyard.vines_per_plot.is_some() => {
                return planted(call, plots, subject, &name);
            }
            Some(_) => {
                return Ok(Some(format!(
                    "{name}: values are means for a vine, and how many vines stand behind the mean of each plot is not recorded, so the counts themselves are not known; record it vine by vine, or as the sum of a plot."
                )));
            }
        };
        subject.kind = if vines.is_some() {
            Kind::PerVine
        } else {
            Kind::PerPlot
        };
        for row in 0..plots.rows {
            let (Some(value), Some(size)) = (values[row], sizes[row]) else {
                missing.push(row);
                continue;
            };
            if size <= 0.0 {
                missing.push(row);
                continue;
            }
            let Some(count) = whole(value * size) else {
                let of = plot_words(plots, row);
                return Ok(Some(match vines {
                    None => not_whole(&name, value, &of),
                    Some(_) => format!(
                        "{name}: {} has a mean of {value} on {size} vines, which is no whole number of {} ({}): the counts were rounded before they were written down, so they cannot be analysed as counts.",
                        literal(&of),
                        subject.words.items,
                        value * size,
                    ),
                }));
            };
            subject.records.push(Record {
                row,
                count,
                size,
                vines: vines.is_some().then_some(size),
            });
        }
    }
    uncounted(subject, plots, &missing);
    if let Some(record) = subject.records.iter().find(|record| record.count < 0.0) {
        let of = plot_words(plots, record.row);
        return Ok(Some(not_whole(&name, record.count, &of)));
    }
    Ok(None)
}

/// Counts from means of a vine and the number of vines planted in every plot, which the trial file
/// gives; only where every product is a whole number as far as the means were written out.
fn planted(
    call: &Call,
    plots: &Table,
    subject: &mut Subject,
    name: &str,
) -> Result<Option<String>, Refusal> {
    let response = subject.response;
    let Some(vines) = call.request.trial.vineyard.vines_per_plot.map(f64::from) else {
        return Ok(None);
    };
    // Means have one decimal more than was recorded (`Response::decimals`); half a unit of the last
    // recorded place, once for every vine, is as far as a product may lie from the count.
    let recorded = i32::from(response.decimals) - 1;
    let rounding = vines * 0.5 * 10f64.powi(-recorded);
    if rounding > 0.5 {
        return Ok(Some(format!(
            "{name}: values are means for a vine, written too short to tell the count of all {vines} vines of a plot, so they cannot be analysed as counts; write more decimals, or record it vine by vine."
        )));
    }
    let mut missing = Vec::new();
    subject.kind = Kind::PerVine;
    for (row, value) in numbers(plots, &response.name, Some(response.offset))?
        .into_iter()
        .enumerate()
    {
        let Some(value) = value else {
            missing.push(row);
            continue;
        };
        let count = (value * vines).round();
        if count < 0.0 {
            return Ok(Some(not_whole(name, value, &plot_words(plots, row))));
        }
        if (value * vines - count).abs() > rounding + WHOLE {
            return Ok(Some(format!(
                "{name}: {} has a mean of {} for a vine, which on the {vines} vines planted in every plot is no whole number of {} ({}): not every vine stands behind each mean, so the counts themselves are not known; record it vine by vine, or as the sum of a plot.",
                literal(&plot_words(plots, row)),
                shown(value),
                subject.words.items,
                shown(value * vines),
            )));
        }
        subject.records.push(Record {
            row,
            count,
            size: vines,
            vines: Some(vines),
        });
    }
    subject.left_out.push(format!(
        "The counts are the means of a vine times the {vines} vines planted in every plot, rounded to whole {}: every vine is taken to have been alive and counted.",
        subject.words.items
    ));
    uncounted(subject, plots, &missing);
    Ok(None)
}

/// A number without the noise that centring leaves.
fn shown(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn not_whole(name: &str, value: f64, of: &str) -> String {
    format!(
        "{name}: {} holds {value}, which is not a count: counts are whole numbers from 0 up.",
        literal(of)
    )
}
