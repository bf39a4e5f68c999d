//! What holds of every drawing, and how every degenerate figure is answered.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};

use super::samples::samples;
use super::{DrawError, Drawing, Stage, draw};

fn points(x: &[f64], y: &[f64]) -> Mark {
    Mark::Points {
        x: x.to_vec(),
        y: y.to_vec(),
        series: None,
        faint: false,
    }
}

fn one_panel(marks: Vec<Mark>) -> Figure {
    Figure {
        id: "f".into(),
        alt: "What is seen. And more.".into(),
        panels: vec![Panel {
            marks,
            ..Panel::default()
        }],
        columns: 1,
        ..Figure::default()
    }
}

fn named(labels: &[&str]) -> Axis {
    Axis {
        title: String::new(),
        scale: Scale::Category {
            labels: labels.iter().map(|label| (*label).to_owned()).collect(),
        },
    }
}

fn refused(figure: &Figure) -> String {
    draw(figure).unwrap_err().to_string()
}

fn pixels(drawing: &Drawing) -> (u32, u32, Vec<u8>) {
    let mut decoder = png::Decoder::new(std::io::Cursor::new(&drawing.png));
    decoder.set_transformations(png::Transformations::EXPAND);
    let mut reader = decoder.read_info().unwrap();
    let mut bytes = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut bytes).unwrap();
    (info.width, info.height, bytes)
}

#[test]
fn the_same_figures_give_the_same_bytes_in_the_same_order_on_any_thread() {
    let figures = samples();
    let together: Vec<Drawing> = crate::parallel::map(&figures, 3, |_, f| draw(f).unwrap());
    let alone: Vec<Drawing> = figures.iter().map(|f| draw(f).unwrap()).collect();
    assert!(together == alone);
}

#[test]
fn letters_cover_neither_data_nor_each_other() {
    for figure in samples() {
        let plan = super::frame::plan(&figure, super::frame::millimetres(figure.width)).unwrap();
        for (panel, planned) in figure.panels.iter().zip(&plan.panels) {
            let stage = Stage::new(&figure, panel, planned.plot, &planned.x, &planned.y);
            let mut taken = super::covered::covered(&stage);
            for letter in super::letters::letters(&stage) {
                assert!(
                    letter.area.top >= planned.plot.top,
                    "{} {letter:?}",
                    figure.id
                );
                let hidden: f64 = taken.iter().map(|area| area.shared(&letter.area)).sum();
                assert_eq!(hidden, 0.0, "{} {letter:?}", figure.id);
                taken.push(letter.area);
            }
        }
    }
}

#[test]
fn pictures_have_the_width_asked_for_and_white_edges() {
    for figure in samples() {
        let drawing = draw(&figure).unwrap();
        let (width, height, bytes) = pixels(&drawing);
        // Millimetres × 200 pixels an inch / 25.4, rounded up.
        let expected = match figure.width {
            Width::Single => 670,
            Width::Middle => 945,
            Width::Double => 1339,
        };
        assert_eq!(width, expected, "{}", figure.id);
        let ink = bytes.iter().filter(|b| **b < 128).count();
        assert!(ink > 3000, "{} is empty", figure.id);
        // Nothing is cut off at the edge of the sheet.
        let pixel = |x: u32, y: u32| {
            let at = 3 * (y * width + x) as usize;
            &bytes[at..at + 3]
        };
        for y in 0..height {
            assert_eq!(pixel(0, y), [255; 3], "{} left", figure.id);
            assert_eq!(pixel(width - 1, y), [255; 3], "{} right", figure.id);
        }
        for x in 0..width {
            assert_eq!(pixel(x, 0), [255; 3], "{} top", figure.id);
            assert_eq!(pixel(x, height - 1), [255; 3], "{} bottom", figure.id);
        }
        assert!(
            drawing.png.len() < 120_000,
            "{} {}",
            figure.id,
            drawing.png.len()
        );
    }
}

#[test]
fn text_stays_text_and_screen_readers_get_the_description() {
    let mut figure = one_panel(vec![points(&[1.0], &[2.0])]);
    figure.panels[0].y.title = "Yield & more (t ha^{-1})".into();
    let svg = draw(&figure).unwrap().svg;
    assert!(svg.contains("<title>What is seen.</title>"));
    assert!(svg.contains("<desc>What is seen. And more.</desc>"));
    assert!(svg.contains("Yield &amp; more (t ha<tspan"));
    assert!(svg.contains("font-family=\"Liberation Sans, Arial, Helvetica, sans-serif\""));
}

#[test]
fn letters_above_the_highest_mean_are_inside_the_sheet() {
    for count in [1, 3, 12] {
        let x: Vec<f64> = (0..count).map(f64::from).collect();
        let labels: Vec<String> = (0..count).map(|i| format!("t{i}")).collect();
        let labels: Vec<&str> = labels.iter().map(String::as_str).collect();
        let mut figure = one_panel(vec![
            points(&x, &x),
            Mark::Letters {
                text: vec!["abcdef".into(); x.len()],
                y: x.clone(),
                x,
                series: None,
            },
        ]);
        figure.panels[0].x = named(&labels);
        let plan = super::frame::plan(&figure, super::frame::millimetres(figure.width)).unwrap();
        let panel = &plan.panels[0];
        let stage = Stage::new(&figure, &figure.panels[0], panel.plot, &panel.x, &panel.y);
        let letters = super::letters::letters(&stage);
        assert_eq!(letters.len(), count as usize);
        for letter in &letters {
            assert!(letter.area.top >= panel.plot.top, "{letter:?}");
        }
    }
}

#[test]
fn a_figure_without_a_panel_is_refused() {
    let figure = Figure {
        id: "empty".into(),
        ..Figure::default()
    };
    assert_eq!(
        refused(&figure),
        "figure 'empty' has no panel: give it at least one"
    );
}

#[test]
fn numbers_without_a_place_are_refused_by_name() {
    assert_eq!(
        refused(&one_panel(vec![
            points(&[0.0], &[0.0]),
            points(&[0.0, 1.0], &[0.0, f64::NAN])
        ])),
        "figure 'f', panel 1, mark 2 (points): y[1] is NaN, which has no place on an axis: leave it out"
    );
    let infinite = Mark::Interval {
        x: vec![0.0],
        low: vec![f64::NEG_INFINITY],
        high: vec![1.0],
        series: None,
    };
    assert!(refused(&one_panel(vec![infinite])).contains("low[0] is -inf"));
    assert!(matches!(
        draw(&one_panel(vec![points(&[0.0], &[1e305])])),
        Err(DrawError::TooLarge { .. })
    ));
    let mut axis = one_panel(vec![]);
    axis.panels[0].y.scale = Scale::Linear {
        from: Some(f64::NAN),
        to: None,
        ticks: vec![],
    };
    assert!(refused(&axis).contains("vertical axis is asked to hold NaN"));
}

#[test]
fn members_of_different_length_are_refused() {
    assert_eq!(
        refused(&one_panel(vec![points(&[0.0, 1.0], &[0.0])])),
        "figure 'f', panel 1, mark 1 (points): x has 2 entries and y has 1: they must be as many"
    );
    let names = Mark::Names {
        x: vec![0.0],
        y: vec![0.0],
        text: vec![],
    };
    assert!(refused(&one_panel(vec![names])).contains("y has 1 entries and text has 0"));
}

#[test]
fn categories_and_series_that_are_not_there_are_refused() {
    let mut figure = one_panel(vec![points(&[2.0], &[0.0])]);
    figure.panels[0].x = named(&["a", "b"]);
    assert_eq!(
        refused(&figure),
        "figure 'f', panel 1, mark 1 (points): x[0] is 2, but the axis has 2 categories, counted from 0"
    );
    let figure = one_panel(vec![Mark::Line {
        x: vec![],
        y: vec![],
        series: Some(0),
        dashed: false,
    }]);
    assert_eq!(
        refused(&figure),
        "figure 'f', panel 1, mark 1 (line): series 0, but the figure names 0 series, counted from 0"
    );
}

#[test]
fn more_than_a_page_is_refused_in_millimetres() {
    let figure = Figure {
        id: "tower".into(),
        panels: vec![Panel::default(); 60],
        columns: 1,
        ..Figure::default()
    };
    assert!(refused(&figure).contains("split its panels"));
}

#[test]
fn degenerate_figures_are_drawn() {
    let values: [&[f64]; 8] = [
        &[],
        &[0.0],
        &[7.0, 7.0, 7.0],
        &[1e300, -1e300],
        &[5e-324, 1e-300],
        &[1e12, 1e12 + 1.0],
        &[-0.0, 0.0],
        &[1.0, 1.0 + f64::EPSILON],
    ];
    for y in values {
        let x = vec![0.0; y.len()];
        let y = y.to_vec();
        let text: Vec<String> = vec!["name".into(); y.len()];
        let series = None;
        let (low, high) = (y.clone(), y.clone());
        let marks = vec![
            Mark::Points {
                x: x.clone(),
                y: y.clone(),
                series,
                faint: true,
            },
            points(&x, &y),
            Mark::Line {
                x: x.clone(),
                y: y.clone(),
                series,
                dashed: true,
            },
            Mark::Ribbon {
                x: x.clone(),
                low: low.clone(),
                high: high.clone(),
                series,
            },
            Mark::Interval {
                x: x.clone(),
                low: low.clone(),
                high: high.clone(),
                series,
            },
            Mark::Across {
                low,
                high,
                y: x.clone(),
                series,
            },
            Mark::Letters {
                x: x.clone(),
                y: y.clone(),
                text: text.clone(),
                series,
            },
            Mark::Names {
                x: x.clone(),
                y: y.clone(),
                text,
            },
            Mark::Bar {
                x: x.clone(),
                y: y.clone(),
                series,
            },
            Mark::Rule {
                x: None,
                y: None,
                label: Some("nowhere".into()),
            },
        ];
        for mark in &marks {
            let drawn = draw(&one_panel(vec![mark.clone()]));
            assert!(drawn.is_ok(), "{mark:?}: {drawn:?}");
        }
        assert!(draw(&one_panel(marks)).is_ok(), "{y:?}");
        let cells = Mark::Cells {
            x: x.clone(),
            y: x,
            value: y.clone(),
            widths: Vec::new(),
        };
        assert!(draw(&one_panel(vec![cells])).is_ok(), "{y:?}");
        if let [low, high, ..] = y[..] {
            let zone = Mark::Zone {
                low,
                high,
                label: Some("zone".into()),
            };
            assert!(draw(&one_panel(vec![zone])).is_ok());
        }
    }
}

#[test]
fn odd_shapes_are_drawn() {
    let mut figure = one_panel(vec![]);
    figure.columns = 0;
    figure.panels[0].x = named(&[]);
    figure.panels[0].y = named(&[]);
    assert!(draw(&figure).is_ok());

    // Text that no layout has room for, and characters that no XML may hold.
    let long = "wide\u{0}\u{b}<&>^{open _{x}".repeat(60);
    let mut figure = one_panel(vec![points(&[0.0], &[0.0])]);
    figure.panels[0].title = Some(long.clone());
    figure.panels[0].x = named(&[&long, &long]);
    figure.panels[0].y.title = long.clone();
    figure.series = vec![long.clone(); 30];
    figure.series_title = Some(long.clone());
    figure.foot = Some(long.clone());
    figure.alt = long.clone();
    for series in 0..30 {
        figure.panels[0].marks.push(Mark::Bar {
            x: vec![0.0],
            y: vec![-1.0],
            series: Some(series),
        });
    }
    figure.panels[0].marks.push(Mark::Zone {
        low: 0.5,
        high: 0.2,
        label: Some(long),
    });
    let drawn = draw(&figure);
    assert!(drawn.is_ok(), "{drawn:?}");

    let crowd = Figure {
        id: "crowd".into(),
        panels: vec![Panel::default(); 24],
        columns: 24,
        ..Figure::default()
    };
    assert!(draw(&crowd).is_ok());
}
