//! The smallest workbook there is, about the cells of one sheet.

use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;

const CONTENT_TYPES: &str = r#"<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/></Types>"#;
const RELATIONS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const WORKBOOK: &str = r#"<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="log" sheetId="1" r:id="rId1"/></sheets></workbook>"#;
const SHEETS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#;

/// The rows of CSV text as the cells of a sheet.
pub fn sheet(csv: &str) -> String {
    let mut rows = String::new();
    for (row, line) in csv.lines().enumerate() {
        rows += &format!("<row r=\"{}\">", row + 1);
        for (column, cell) in line.split(',').enumerate() {
            let place = format!("{}{}", char::from(b'A' + column as u8), row + 1);
            rows += &match cell.parse::<f64>() {
                Ok(number) => format!("<c r=\"{place}\"><v>{number}</v></c>"),
                Err(_) => format!("<c r=\"{place}\" t=\"inlineStr\"><is><t>{cell}</t></is></c>"),
            };
        }
        rows += "</row>\n";
    }
    format!(
        "<worksheet xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"><sheetData>\n\
         {rows}</sheetData></worksheet>"
    )
}

/// A workbook with that sheet.
pub fn packed(sheet: &str) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in [
        ("[Content_Types].xml", CONTENT_TYPES),
        ("_rels/.rels", RELATIONS),
        ("xl/workbook.xml", WORKBOOK),
        ("xl/_rels/workbook.xml.rels", SHEETS),
        ("xl/worksheets/sheet1.xml", sheet),
    ] {
        let options = SimpleFileOptions::default();
        writer.start_file(name, options).expect("a part");
        writer.write_all(text.as_bytes()).expect("in memory");
    }
    writer.finish().expect("a workbook").into_inner()
}
