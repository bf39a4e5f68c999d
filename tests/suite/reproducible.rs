//! The same trial gives the same bytes, wherever and however it is run.

use crate::support::{Scratch, assert_same, caneplot, comparable, said};

#[test]
fn folder_time_zone_language_and_threads_change_nothing() {
    let runs: Vec<Scratch> = [
        ("1", "UTC", "C"),
        ("2", "Pacific/Auckland", "de_DE.UTF-8"),
        ("7", "America/Lima", "tr_TR"),
    ]
    .into_iter()
    .map(|(threads, zone, language)| {
        let scratch = Scratch::demo("node-number");
        let output = caneplot()
            .current_dir(scratch.trial())
            .args(["run", ".", "--threads", threads, "--out", "../out"])
            .env("TZ", zone)
            .env("LANG", language)
            .env("LC_ALL", language)
            .output()
            .expect("the program starts");
        assert!(output.status.success(), "{}", said(&output));
        scratch
    })
    .collect();
    for other in &runs[1..] {
        assert_same(&comparable(&runs[0].report()), &comparable(&other.report()));
    }
}

#[cfg(unix)]
#[test]
fn a_run_killed_half_way_leaves_the_earlier_report_whole() {
    let scratch = Scratch::demo("node-number");
    assert!(scratch.run().status.success());
    let before = crate::support::files(&scratch.report());
    scratch.change(
        "harvest.csv",
        "2021,B1,1,1,alive,47",
        "2021,B1,1,1,alive,46",
    );
    let whole = std::time::Instant::now();
    assert!(scratch.run().status.success());
    let whole = whole.elapsed();
    let after = crate::support::files(&scratch.report());
    assert!(before != after, "the change can be seen in the report");
    scratch.change(
        "harvest.csv",
        "2021,B1,1,1,alive,46",
        "2021,B1,1,1,alive,47",
    );
    // Killed at many moments of the run, from before the first file to after the last.
    for step in 0..12 {
        let mut child = caneplot()
            .arg("run")
            .arg(scratch.trial())
            .arg("--out")
            .arg(scratch.out())
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::null())
            .spawn()
            .expect("the program starts");
        std::thread::sleep(whole * step / 11);
        let _ = child.kill();
        let _ = child.wait();
        let now = crate::support::comparable(&scratch.report());
        let old = crate::support::comparable_of(&before);
        let new = crate::support::comparable_of(&after);
        assert!(
            now == old || now == new,
            "one whole report after a kill at step {step}"
        );
    }
    assert!(scratch.run().status.success());
    let left: Vec<_> = std::fs::read_dir(scratch.out())
        .expect("a folder")
        .flatten()
        .collect();
    assert_eq!(
        left.len(),
        1,
        "a later run removes what killed ones left: {left:?}"
    );
}
