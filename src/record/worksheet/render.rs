//! A worksheet as text, Markdown and HTML.

use super::{Line, Worksheet};
use crate::evaluate::CAUTIONS;
use std::fmt::Write as _;

/// What to make of the numbers.
const HOW_TO: &str = "Values have 10 significant digits, numbers put in 12. A value recomputed from \
the numbers in its line comes out with all its digits, but for the last ones where numbers that are \
nearly equal are subtracted. All units are SI units up to the result.";

/// The lines with the heading before the first of each section.
fn with_headings(sheet: &Worksheet) -> impl Iterator<Item = (Option<&'static str>, &Line)> {
    let mut last = "";
    sheet.lines.iter().map(move |line| {
        let heading = (line.section != last).then_some(line.section);
        last = line.section;
        (heading, line)
    })
}

/// The value with its unit.
fn value(line: &Line) -> String {
    match line.unit.as_str() {
        "" | "1" => line.shown.clone(),
        unit => format!("{} {unit}", line.shown),
    }
}

/// How equations are printed: whether the symbol stands before them.
fn equation(line: &Line) -> String {
    // the two sides of an equation that was solved stand for themselves
    if line.equation.contains(" = ") {
        line.equation.clone()
    } else {
        format!("{} = {}", line.symbol, line.equation)
    }
}

pub(super) fn text(sheet: &Worksheet) -> String {
    let mut text = format!("Worksheet: {}\n{}\n{HOW_TO}\n", sheet.site, sheet.headline);
    for (heading, line) in with_headings(sheet) {
        // writing to a String cannot fail
        if let Some(heading) = heading {
            let _ = writeln!(text, "\n{heading}\n{}", "-".repeat(heading.len()));
        }
        let _ = writeln!(text, "{:>4}. {}: {}", line.number, line.symbol, line.words);
        if !line.equation.is_empty() {
            let _ = writeln!(text, "      {}", equation(line));
            if line.numbers != line.equation {
                let _ = writeln!(text, "      {}", line.numbers);
            }
        }
        let source = match line.source.as_str() {
            "" => String::new(),
            source => format!("    [{source}]"),
        };
        let _ = writeln!(text, "      = {}{source}", value(line));
    }
    let _ = write!(text, "\n{CAUTIONS}\n{}\n", sheet.software);
    text
}

/// Words in Markdown: what has a meaning there is escaped.
fn plain_markdown(words: &str) -> String {
    let mut text = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '\n' | '\r' => text.push(' '),
            '&' => text.push_str("&amp;"),
            '<' => text.push_str("&lt;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '>' | '#' | '~' | '!' | '$' => {
                text.push('\\');
                text.push(c);
            }
            _ => text.push(c),
        }
    }
    text
}

pub(super) fn markdown(sheet: &Worksheet) -> String {
    let mut text = format!(
        "# Worksheet: {}\n\n{}\n\n{HOW_TO}\n",
        plain_markdown(&sheet.site),
        plain_markdown(&sheet.headline)
    );
    for (heading, line) in with_headings(sheet) {
        if let Some(heading) = heading {
            let _ = write!(
                text,
                "\n## {heading}\n\n| no. | symbol | what | equation and numbers | value | unit | source |\n\
                 |---:|---|---|---|---:|---|---|\n"
            );
        }
        // equations hold no words of the user, no backtick and no bar
        let how = if line.equation.is_empty() {
            String::new()
        } else if line.numbers == line.equation {
            format!("`{}`", equation(line))
        } else {
            format!("`{}`<br>`{}`", equation(line), line.numbers)
        };
        let _ = writeln!(
            text,
            "| {} | `{}` | {} | {how} | {} | {} | {} |",
            line.number,
            line.symbol,
            plain_markdown(&line.words),
            line.shown,
            line.unit,
            plain_markdown(&line.source)
        );
    }
    let _ = write!(text, "\n*{CAUTIONS}*\n\n{}\n", sheet.software);
    text
}

/// Words in HTML.
fn escaped(words: &str) -> String {
    let mut text = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => text.push_str("&amp;"),
            '<' => text.push_str("&lt;"),
            '>' => text.push_str("&gt;"),
            '"' => text.push_str("&quot;"),
            '\'' => text.push_str("&#x27;"),
            _ => text.push(c),
        }
    }
    text
}

/// An equation in HTML, whose lines end after an operator and never within a number.
fn breakable(equation: &str) -> String {
    let mut text = String::with_capacity(2 * equation.len());
    for word in equation.split_inclusive(['*', '/', ',', ' ']) {
        let own = word.trim_end_matches(['*', '/', ',', ' ']);
        let after = &word[own.len()..];
        // a sign is where browsers end a line
        text += &match own.contains('-') && own.contains(|c: char| c.is_ascii_digit()) {
            true => format!("<span style=\"white-space:nowrap\">{}</span>", escaped(own)),
            false => escaped(own),
        };
        text += after;
        if !after.is_empty() && after != " " {
            text += "<wbr>";
        }
    }
    text
}

pub(super) fn fragment(sheet: &Worksheet) -> String {
    const HEADINGS: [&str; 7] = [
        "no.",
        "symbol",
        "what",
        "equation and numbers",
        "value",
        "unit",
        "source",
    ];
    const WORDS: &str = "text-align:left;vertical-align:top";
    const NUMBER: &str = "text-align:right;vertical-align:top;white-space:nowrap";
    const UNIT: &str = "text-align:left;vertical-align:top;white-space:nowrap";
    let mut text = format!(
        "<p><b>Worksheet: {}</b><br>{}</p>\n<p><small>{HOW_TO}</small></p>\n",
        escaped(&sheet.site),
        escaped(&sheet.headline)
    );
    let mut open = false;
    for (heading, line) in with_headings(sheet) {
        if let Some(heading) = heading {
            if open {
                text += "</table>\n";
            }
            open = true;
            let cells = HEADINGS
                .map(|h| format!("<th style=\"{WORDS}\">{h}</th>"))
                .concat();
            let _ = writeln!(text, "<h3>{heading}</h3>\n<table><tr>{cells}</tr>");
        }
        let how = if line.equation.is_empty() {
            String::new()
        } else if line.numbers == line.equation {
            format!("<code>{}</code>", breakable(&equation(line)))
        } else {
            let (equation, numbers) = (breakable(&equation(line)), breakable(&line.numbers));
            format!("<code>{equation}</code><br><code>{numbers}</code>")
        };
        let _ = writeln!(
            text,
            "<tr><td style=\"{NUMBER}\">{}</td><td style=\"{WORDS}\"><code>{}</code></td>\
             <td style=\"{WORDS}\">{}</td><td style=\"{WORDS}\">{how}</td>\
             <td style=\"{NUMBER}\">{}</td><td style=\"{UNIT}\">{}</td>\
             <td style=\"{WORDS};min-width:12em\">{}</td></tr>",
            line.number,
            escaped(&line.symbol),
            escaped(&line.words),
            escaped(&line.shown),
            escaped(&line.unit),
            escaped(&line.source)
        );
    }
    if open {
        text += "</table>\n";
    }
    let _ = writeln!(
        text,
        "<p><small>{}<br>{}</small></p>",
        escaped(CAUTIONS),
        escaped(&sheet.software)
    );
    text
}

pub(super) fn page(sheet: &Worksheet) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head><meta charset=\"utf-8\"><title>Worksheet: {}</title>\n\
         <style>body {{ font-family: sans-serif; margin: 2em }} table {{ border-collapse: collapse }} \
         td, th {{ border-bottom: 1px solid #999; padding: 0.2em 0.6em }}</style></head>\n<body>\n{}</body>\n\
         </html>\n",
        escaped(&sheet.site),
        fragment(sheet)
    )
}
