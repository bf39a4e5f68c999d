//! Small documents whose pages are known in full.

use super::*;

fn main_part(page: &str) -> &str {
    let (_, after) = page
        .split_once("<main id=\"text\" tabindex=\"-1\">\n")
        .unwrap();
    after.split_once("</main>").unwrap().0
}

#[test]
fn a_table_takes_its_title_its_notes_and_its_file() {
    let page = html(
        "# T\n\n**Means *of* yield**\n\n| Nodes | Yield (kg) |\n| :--- | ---: |\n| 12 | −1.0 |\n\
         | 24 |  |\n\n*A note.*\n\n[as CSV](tables/a.csv)\n\nText.\n",
    )
    .unwrap();
    assert_eq!(
        main_part(&page),
        "<h1 id=\"t\">T</h1>\n<div class=\"table\">\n<div class=\"scroll\" role=\"group\" \
         tabindex=\"0\" aria-labelledby=\"table.1\">\n<table>\n<caption id=\"table.1\">Means \
         <em>of</em> yield</caption>\n<thead>\n<tr><th scope=\"col\">Nodes</th>\
         <th scope=\"col\" class=\"n\">Yield (kg)</th></tr>\n</thead>\n<tbody>\n\
         <tr><th scope=\"row\">12</th><td class=\"n\">−1.0</td></tr>\n\
         <tr><th scope=\"row\">24</th><td class=\"n\"></td></tr>\n</tbody>\n</table>\n</div>\n\
         <p class=\"note\">A note.</p>\n<p class=\"tools\"><a href=\"tables/a.csv\">CSV file with \
         all digits</a></p>\n</div>\n<p>Text.</p>\n"
    );
}

#[test]
fn a_table_in_groups_keeps_its_order() {
    let table =
        |first: &str| format!("# T\n\n| A | B |\n| :-- | --: |\n| {first} | 1 |\n| b | 2 |\n");
    assert!(
        html(&table("**Total**"))
            .unwrap()
            .contains("<table data-fixed=\"\">")
    );
    assert!(html(&table("a")).unwrap().contains("<table>"));
}

#[test]
fn a_picture_takes_its_caption() {
    let page = html(
        "# T\n\n![Yield rose, 2 < 3.](figures/a.png)\n\n*Yield.* ([vector file](figures/a.svg))\n",
    )
    .unwrap();
    assert_eq!(
        main_part(&page),
        "<h1 id=\"t\">T</h1>\n<figure>\n<div class=\"scroll\" role=\"group\" \
         aria-label=\"Figure 1\" tabindex=\"0\"><svg class=\"drawing\" role=\"img\" \
         aria-label=\"Yield rose, 2 &lt; 3.\" viewBox=\"0 0 400 300\" style=\"--w:40.0pt\">\n\
         <rect x=\"0\" y=\"0\" width=\"400\" height=\"300\" fill=\"#FFFFFF\"/>\n</svg></div>\n\
         <figcaption>Yield. <span class=\"tools\"><a href=\"figures/a.svg\">vector file</a></span>\
         </figcaption>\n</figure>\n"
    );
}

#[test]
fn nothing_in_the_text_becomes_an_element() {
    let page = html(
        "# T\n\n&lt;script&gt; `<b>` <i>x</i> a \"b\" & [go](javascript:alert(1)) \
         [on](https://example.org/?a=1&b=2)\n",
    )
    .unwrap();
    assert_eq!(
        main_part(&page),
        "<h1 id=\"t\">T</h1>\n<p>&lt;script&gt; <code>&lt;b&gt;</code> &lt;i&gt;x&lt;/i&gt; a \
         &quot;b&quot; &amp; go <a href=\"https://example.org/?a=1&amp;b=2\">on</a></p>\n"
    );
}

#[test]
fn lists_keep_their_numbers_and_their_blocks() {
    let page = html("# T\n\n3. three\n4. four\n\n- a\n\n  b\n").unwrap();
    assert!(page.contains("<ol start=\"3\">\n<li>three</li>\n<li>four</li>\n</ol>"));
    assert!(page.contains("<ul>\n<li>\n<p>a</p>\n<p>b</p>\n</li>\n</ul>"));
}

#[test]
fn headings_of_the_same_words_have_names_of_their_own() {
    let page = html(
        "# T\n\n## Yield\n\n## <a id=\"x-yield\"></a>Yield\n\n## Yield\n\n[a](#yield-1) [b](#x-yield)\n",
    )
    .unwrap();
    for heading in [
        "<h2 id=\"yield\">",
        "<h2 id=\"x-yield\">",
        "<h2 id=\"yield-1\">",
    ] {
        assert!(page.contains(heading), "{heading}");
    }
}

#[test]
fn what_is_missing_is_named() {
    let why = |markdown| html(markdown).unwrap_err().to_string();
    assert_eq!(
        why("# T\n\n![x](figures/lost.png)\n"),
        "the text shows the figure figures/lost.png, but there is no drawing of that name"
    );
    assert_eq!(
        why("# T\n\n[x](#lost)\n"),
        "the text links to '#lost', but no heading has that name"
    );
    let other = super::super::html(&document("# T\n", "fr")).unwrap_err();
    assert_eq!(
        other.to_string(),
        "there are no words in the language 'fr'; there are en and es"
    );
}

#[test]
fn the_frame_speaks_the_language_of_the_document() {
    let page = super::super::html(&document("# T\n\n## Uno\n", "es-MX")).unwrap();
    assert!(page.contains("<html lang=\"es-MX\">"));
    for words in [
        ">Contenido<",
        ">Ir al texto<",
        "data-copy=\"Copiar como CSV\"",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains(">Contents<"));
}
