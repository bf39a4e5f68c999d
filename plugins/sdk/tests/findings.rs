//! The rules of findings: each fault is found and its place named.

use caneplot_plugin::findings::{
    Axis, Cells, Column, FINDINGS_SCHEMA, Figure, Findings, Format, Mark, Panel, Reference, Scale,
    Section, Statement, Table,
};
use caneplot_plugin::validate::{check, citation_keys, placeholders};

fn sound() -> Findings {
    Findings {
        schema: FINDINGS_SCHEMA,
        sections: vec![Section {
            id: "yield".into(),
            title: "Yield".into(),
            statements: vec![Statement::new("{{braces}} and {a}").with(
                "a",
                1.0,
                Format::Decimals(1),
            )],
            tables: vec![Table {
                id: "means".into(),
                columns: vec![
                    Column::text("Nodes", ["12", "24"]),
                    Column::number("Yield", vec![Some(1.0), None], Format::Decimals(2)),
                    Column::probability("P", vec![Some(0.5), None]),
                ],
                groups: vec![1],
                ..Table::default()
            }],
            figures: vec![Figure {
                id: "means".into(),
                columns: 1,
                series: vec!["one".into()],
                panels: vec![Panel {
                    marks: vec![
                        Mark::Points {
                            x: vec![0.0, 1.0],
                            y: vec![1.0, 2.0],
                            series: Some(0),
                            faint: false,
                        },
                        Mark::Rule {
                            y: Some(0.0),
                            x: None,
                            label: None,
                        },
                    ],
                    ..Panel::default()
                }],
                ..Figure::default()
            }],
            ..Section::default()
        }],
        methods: vec!["By the book [@fisher-1925; @tukey-1949].".into()],
        references: ["fisher-1925", "tukey-1949"]
            .map(|key| Reference {
                key: key.into(),
                text: "A book.".into(),
            })
            .into(),
    }
}

#[test]
fn sound_findings_pass() {
    assert_eq!(check(&sound()), Ok(()));
}

#[test]
fn every_fault_names_its_place() {
    type Spoil = fn(&mut Findings);
    fn mark(findings: &mut Findings) -> &mut Mark {
        &mut findings.sections[0].figures[0].panels[0].marks[0]
    }
    let cases: [(Spoil, &str); 17] = [
        (|f| f.schema = 7, "schema is 7 instead of 1"),
        (
            |f| f.sections[0].id = "Yield".into(),
            "sections[0].id 'Yield' is not made of",
        ),
        (
            |f| f.sections.push(f.sections[0].clone()),
            "sections[1].id 'yield' stands twice",
        ),
        (
            |f| f.sections[0].statements[0].values.clear(),
            "sections[0].statements[0].text has {a}, for which there is no value",
        ),
        (
            |f| f.sections[0].notes = vec![Statement::new("{open")],
            "sections[0].notes[0].text has an opening brace without a closing one",
        ),
        (
            |f| {
                f.sections[0].statements[0] =
                    Statement::new("{p}").with("p", f64::NAN, Format::Count)
            },
            "sections[0].statements[0].values.p is not a finite number (NaN)",
        ),
        (
            |f| {
                f.sections[0].statements[0] =
                    Statement::new("{p}").with("p", 1.5, Format::Probability)
            },
            "sections[0].statements[0].values.p is a probability of 1.5",
        ),
        (
            |f| {
                f.sections[0].tables[0].columns[2] =
                    Column::probability("P", vec![Some(0.1), Some(-0.1)])
            },
            "sections[0].tables[0].columns[2].values[1] is a probability of -0.1",
        ),
        (
            |f| {
                f.sections[0].tables[0].columns[1] =
                    Column::number("y", vec![Some(f64::INFINITY), None], Format::Count)
            },
            "sections[0].tables[0].columns[1].values[0] is not a finite number (inf)",
        ),
        (
            |f| f.sections[0].tables[0].columns[2] = Column::probability("P", vec![]),
            "sections[0].tables[0].columns[2] ('P') has 0 rows where the first column has 2",
        ),
        (
            |f| {
                f.sections[0].tables[0].columns[1].cells = Cells::Lettered {
                    values: vec![None, None],
                    letters: vec!["a".into()],
                    format: Format::Count,
                }
            },
            "sections[0].tables[0].columns[1].letters are 1 for 2 values",
        ),
        (
            |f| f.sections[0].tables[0].groups = vec![0, 2],
            "sections[0].tables[0].groups[1] is row 2 of 2",
        ),
        (
            |f| {
                *mark(f) = Mark::Line {
                    x: vec![0.0],
                    y: vec![],
                    series: None,
                    dashed: false,
                }
            },
            "sections[0].figures[0].panels[0].marks[0].y has 0 values for 1 places",
        ),
        (
            |f| {
                *mark(f) = Mark::Bar {
                    x: vec![0.0],
                    y: vec![0.0],
                    series: Some(1),
                }
            },
            "sections[0].figures[0].panels[0].marks[0].series is 1, but the figure names 1 series",
        ),
        (
            |f| {
                *mark(f) = Mark::Zone {
                    low: f64::NAN,
                    high: 1.0,
                    label: None,
                }
            },
            "sections[0].figures[0].panels[0].marks[0].low is not a finite number",
        ),
        (
            |f| {
                f.sections[0].figures[0].panels[0].y = Axis {
                    title: String::new(),
                    scale: Scale::Linear {
                        from: Some(f64::NAN),
                        to: None,
                        ticks: vec![],
                    },
                }
            },
            "sections[0].figures[0].panels[0].y.from is not a finite number (NaN)",
        ),
        (
            |f| f.references.truncate(1),
            "methods[0] cites 'tukey-1949', which is not among the references",
        ),
    ];
    for (spoil, expected) in cases {
        let mut findings = sound();
        spoil(&mut findings);
        let fault = check(&findings).map_or_else(|fault| fault.to_string(), |()| "none".to_owned());
        assert!(fault.starts_with(expected), "{fault} instead of {expected}");
    }
}

#[test]
fn placeholders_and_citations_are_read_as_written() {
    assert_eq!(placeholders("{a} {{b}} {c}{{"), Ok(vec!["a", "c"]));
    assert!(placeholders("a}").is_err());
    assert_eq!(
        citation_keys("as [@a-1] and [@b; @c] but [d]"),
        ["a-1", "b", "c"]
    );
}
