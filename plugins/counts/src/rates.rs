//! Counts without a ceiling: summed over the vines of a plot, or taken back from their means.

use caneplot_plugin::request::Basis;
use caneplot_plugin::{Call, Refusal, Table};

use crate::subject::{Kind, Record, Subject, capital_label, left_out, plot_words};
use crate::vines::{numbers, sums, whole};
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
    left_out(
        subject,
        "Left out because no count was recorded",
        plots,
        &missing,
    );
    if let Some(record) = subject.records.iter().find(|record| record.count < 0.0) {
        let of = plot_words(plots, record.row);
        return Ok(Some(not_whole(&name, record.count, &of)));
    }
    Ok(None)
}

fn not_whole(name: &str, value: f64, of: &str) -> String {
    format!(
        "{name}: {} holds {value}, which is not a count: counts are whole numbers from 0 up.",
        literal(of)
    )
}
