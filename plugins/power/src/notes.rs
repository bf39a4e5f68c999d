//! What the reader must know to use the numbers.

use caneplot_plugin::findings::{Format, Statement};
use caneplot_plugin::sentence::Sentence;
use caneplot_plugin::words::safe;

use crate::study::Study;

/// Error degrees of freedom below which an error is poorly known, as in the cautions of a plan.
const FEW: usize = 6;

pub(crate) fn notes(study: &Study) -> Vec<Statement> {
    let options = &study.options;
    let taken = options
        .taken
        .iter()
        .map(|sentence| Statement::new(safe(sentence)));
    let mut found: Vec<Statement> = taken.collect();
    if options.plots_hold_vines {
        found.push(Statement::new(
            "How much vines of one plot vary was not given: the spread of plots is taken as it is, with the vines they had, and other numbers of vines are not compared.",
        ));
    }
    for answer in study
        .answers
        .iter()
        .filter(|answer| answer.test.error_df < FEW)
    {
        found.push(
            Sentence::new(&format!(
                "{} is compared with an error of only ",
                answer.name
            ))
            .number(answer.test.error_df as f64, Format::Count)
            .text(" degrees of freedom: it will be poorly known, whatever the power.")
            .statement(),
        );
    }
    if options.parts.treatments_by_season <= 0.0 {
        found.push(Statement::new(
            "How treatments change from season to season was not given, so the power is for the seasons of the trial. A difference that is to last is less sure than this: blocks do not average it, only seasons do.",
        ));
    }
    if let Some(lossful) = &study.lossful {
        found.push(Statement::new(
            "Vines are lost one by one, each with the same probability, and count as lost from the first season on: the cautious side. A dying row or a wet corner takes whole plots and is not in these numbers.",
        ));
        if lossful.found.unanalysed > 0 {
            found.push(
                Sentence::new("")
                    .number(lossful.found.unanalysed as f64, Format::Count)
                    .text(" of the trials drawn could not be analysed and count as having found nothing.")
                    .statement(),
            );
        }
    }
    found.push(Statement::new(
        "These are numbers for a trial that is not planted yet. After a trial its power says nothing that the interval of the difference does not say better: read the two ends of that interval instead.",
    ));
    found.push(Statement::new(
        "A plan is as good as its standard deviations. An error of 12 degrees of freedom knows one to between 0.7 and 1.7 times its estimate (95 % limits by chi-square); try the plan with half as much again before the posts are driven.",
    ));
    found
}
