//! A plugin that misbehaves on request: the option `how` picks in which way.

#![allow(non_snake_case)] // the name of the library, see Cargo.toml

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Findings, Format, Section, Statement};
use caneplot_plugin::{Analysis, Call, Refusal, export_plugin};
use serde::Deserialize;

struct Faulty;

#[derive(Deserialize)]
struct Options {
    how: String,
}

impl Analysis for Faulty {
    const MANIFEST: &'static str = r#"{
        "name": "faulty",
        "version": "0.1.0",
        "purpose": "Misbehaves in the way it is told to, for the tests of the program",
        "options": [{
            "name": "how", "help": "The way", "type": "choice", "default": "answer",
            "of": ["answer", "refuse", "panic", "thread", "segfault", "abort", "overflow", "exit",
                   "hang", "flood", "spill", "print", "nonfinite", "bad", "escape", "dial", "environment"]
        }, {
            "name": "share", "help": "A number", "type": "number", "min": 0, "max": 1,
            "default": 0.5
        }, {
            "name": "only", "help": "Responses", "type": "responses", "default": null
        }],
        "gives": ["trouble"],
        "citations": []
    }"#;

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options: Options = call.options()?;
        let plots = call.table("plots")?;
        match options.how.as_str() {
            "refuse" => Err(Refusal::new("two plots are not enough")
                .column("yield")
                .rows(vec![1])
                .hint("record more plots")),
            "panic" => {
                let nothing: Vec<f64> = Vec::new();
                Ok(answer(nothing[plots.rows]))
            }
            "thread" => {
                let ended = std::thread::spawn(|| panic!("in a thread of its own")).join();
                Ok(answer(if ended.is_err() { 1.0 } else { 0.0 }))
            }
            "segfault" => {
                // SAFETY: none; the crash is the purpose.
                unsafe { std::ptr::null_mut::<u8>().write_volatile(1) };
                Ok(answer(0.0))
            }
            "abort" => std::process::abort(),
            "overflow" => Ok(answer(deep(1.0))),
            "exit" => std::process::exit(0),
            "hang" => {
                caneplot_plugin::progress(0.4);
                loop {
                    std::thread::sleep(std::time::Duration::from_secs(1));
                }
            }
            "flood" => {
                let mut hoard: Vec<Vec<u8>> = Vec::new();
                loop {
                    hoard.push(vec![1; 64 << 20]);
                    std::hint::black_box(&hoard);
                }
            }
            "spill" => {
                let block = vec![b'.'; 1 << 20];
                loop {
                    let _ = std::io::Write::write_all(&mut std::io::stdout(), &block);
                }
            }
            "print" => {
                print_both();
                caneplot_plugin::warn("said through the log");
                caneplot_plugin::progress(0.5);
                Ok(answer(2.0))
            }
            "nonfinite" => Ok(answer(f64::NAN)),
            "bad" => {
                let mut findings = answer(1.0);
                findings.sections[0].id = "Not An Id".to_owned();
                Ok(findings)
            }
            "escape" => {
                // The test says where in the title of the trial.
                let written = std::fs::write(&call.request.trial.title, "x");
                Ok(answer(if written.is_ok() { 1.0 } else { 0.0 }))
            }
            "dial" => {
                let reply = std::net::TcpStream::connect("127.0.0.1:9");
                let denied =
                    reply.is_err_and(|error| error.kind() == std::io::ErrorKind::PermissionDenied);
                Ok(answer(if denied { 1.0 } else { 0.0 }))
            }
            "environment" => Err(Refusal::new(
                std::env::vars()
                    .map(|(name, value)| format!("{name}={value}"))
                    .collect::<Vec<_>>()
                    .join(" "),
            )),
            _ => Ok(answer(plots.rows as f64)),
        }
    }
}

#[allow(clippy::print_stdout)] // printing is the fault
fn print_both() {
    println!("noise on standard output");
    eprintln!("noise on standard error");
}

/// Uses the whole stack.
fn deep(value: f64) -> f64 {
    let block = std::hint::black_box([value; 4096]);
    if block[17] < 0.0 {
        return 0.0;
    }
    deep(block[3] + 1.0) + block[5]
}

fn answer(value: f64) -> Findings {
    Findings {
        schema: FINDINGS_SCHEMA,
        sections: vec![Section {
            id: "answer".to_owned(),
            title: "Answer".to_owned(),
            statements: vec![Statement::new("The answer is {value}.").with(
                "value",
                value,
                Format::Decimals(1),
            )],
            ..Section::default()
        }],
        methods: Vec::new(),
        references: Vec::new(),
    }
}

export_plugin!(Faulty);
