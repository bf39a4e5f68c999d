//! What a reader gets: sentences, cautions, refusals.

use caneplot_plugin::Analysis;
use caneplot_plugin::findings::Rank;
use caneplot_plugin::manifest::Manifest;
use caneplot_readings::testing::{sentence, text};

use super::call::{handed, machine, prices, refused, section};
use crate::Economics;

#[test]
fn the_manifest_is_in_order() {
    let manifest = Manifest::read(Economics::MANIFEST).unwrap();
    manifest.check().unwrap();
    assert!(manifest.uses_estimates && manifest.needs.prices);
}

#[test]
fn a_clear_gain_is_said_with_its_interval_and_both_areas() {
    let call = machine(0.001);
    let section = section(&call);
    let first = &section.statements[0];
    assert_eq!(first.rank, Rank::Headline);
    let said = sentence(first);
    assert!(
        said.starts_with("Machine left 504 USD/acre (1245 USD/ha) more than hand a season"),
        "{said}"
    );
    assert!(said.contains("(95 % interval "), "{said}");
    println!("{}", text(&refused(&call).unwrap()));
}

#[test]
fn an_unclear_gain_is_called_so_and_the_crop_left_out_beside_it() {
    let call = machine(0.5);
    let all = text(&refused(&call).unwrap());
    assert!(
        all.contains("No clear gain or loss of money against the control, hand"),
        "{all}"
    );
    assert!(
        all.contains("The trial shows no clear difference of crop between machine and hand; if there is none, machine leaves 288 USD/acre"),
        "{all}"
    );
    assert!(all.contains("is no forecast"), "{all}");
    assert!(all.contains("ask an accountant"), "{all}");
    assert!(
        all.contains("not measured in this trial but assumed: a report on pruning machines"),
        "{all}"
    );
}

#[test]
fn what_loses_money_is_never_called_a_gain() {
    let mut call = machine(0.0001);
    prices(&mut call).costs[0].amounts.amounts[1].1.likely = 900.0;
    let said = sentence(&section(&call).statements[0]);
    assert!(
        said.starts_with("No treatment left more than the control, hand: machine came nearest"),
        "{said}"
    );
}

#[test]
fn without_prices_or_means_there_is_a_sentence_and_no_figure() {
    let mut call = machine(0.04);
    call.request.trial.estimates.clear();
    let refusal = refused(&call).unwrap_err();
    assert!(
        refusal
            .message
            .contains("no analysis of this run has means of yield"),
        "{refusal}"
    );
    assert!(refusal.hint.unwrap().contains("'anova' or 'mixed'"));
    let mut call = machine(0.04);
    call.request.trial.prices = None;
    assert!(
        refused(&call)
            .unwrap_err()
            .message
            .contains("no prices, and none are made up")
    );
    let mut call = machine(0.04);
    call.request.trial.estimates[0].estimates.unit = "kg/plot".to_owned();
    let refusal = refused(&call).unwrap_err();
    assert!(refusal.message.contains("kg/plot"), "{refusal}");
}

#[test]
fn the_lowest_voice_is_the_one_reckoned_with() {
    let mut call = machine(0.04);
    let mut other = call.request.trial.estimates[0].estimates.clone();
    other.treatments[1].value = 99.0;
    call.request
        .trial
        .estimates
        .insert(0, handed("other", 50, other));
    let said = sentence(&section(&call).statements[0]);
    assert!(said.contains("504 USD/acre"), "{said}");
}

#[test]
fn where_differences_are_not_known_there_is_no_interval() {
    let mut call = machine(0.04);
    call.request.trial.estimates[0].estimates.covariance.clear();
    let all = text(&refused(&call).unwrap());
    assert!(all.contains("There are no intervals and chances"), "{all}");
    assert!(!all.contains("Chance to be best"), "{all}");
}
