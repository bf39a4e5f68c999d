//! What the frame around a document says, one table of words a language.

/// The words of a language.
#[derive(Debug, PartialEq, Eq)]
pub struct Words {
    /// Heading of the list of contents.
    pub contents: &'static str,
    /// The link past the contents, for readers who use the keyboard.
    pub skip: &'static str,
    /// The button that copies a table.
    pub copy: &'static str,
    /// What is said when a table was copied.
    pub copied: &'static str,
    /// What is said when the reader must copy it by hand.
    pub by_hand: &'static str,
    /// The link to a table as a file, which has all digits.
    pub file: &'static str,
    /// Closes the box from which is copied by hand.
    pub close: &'static str,
    /// What a screen reader calls a table without a title.
    pub table: &'static str,
    /// What a screen reader calls the box around a figure that is wider than the window.
    pub figure: &'static str,
    /// "page", in front of a page number.
    pub page: &'static str,
    /// "of", between a page number and the number of pages.
    pub of: &'static str,
}

const ENGLISH: Words = Words {
    contents: "Contents",
    skip: "Skip to the text",
    copy: "Copy as CSV",
    copied: "Copied",
    by_hand: "Press Ctrl+C (Cmd+C on a Mac) to copy",
    file: "CSV file with all digits",
    close: "Close",
    table: "Table",
    figure: "Figure",
    page: "Page",
    of: "of",
};

const SPANISH: Words = Words {
    contents: "Contenido",
    skip: "Ir al texto",
    copy: "Copiar como CSV",
    copied: "Copiado",
    by_hand: "Pulse Ctrl+C (Cmd+C en un Mac) para copiar",
    file: "Archivo CSV con todas las cifras",
    close: "Cerrar",
    table: "Tabla",
    figure: "Figura",
    page: "Página",
    of: "de",
};

/// The words of a language (BCP 47): its first part decides.
pub fn of(language: &str) -> Option<&'static Words> {
    match language.split('-').next() {
        Some("en") => Some(&ENGLISH),
        Some("es") => Some(&SPANISH),
        _ => None,
    }
}
