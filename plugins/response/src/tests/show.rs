use super::render::text;
use super::trial::{buds, perennial, split};

#[test]
#[ignore = "to be read by a person"]
fn show() {
    let mut money = buds();
    for (name, value) in [("price", 0.6), ("cost_per_node", 0.02)] {
        money.set(name, value.into());
    }
    money.set("cost_basis", "vine".into());
    money.set("money", "EUR".into());
    money.info.factors[0].control = Some("20".to_owned());
    for trial in [money, perennial(), split(true), split(false)] {
        println!("{}\n-----------------", text(&trial.findings()));
    }
}
