//! `compare --methods`: a methods text for an article.

use super::Args;
use crate::cli::Shape;
use crate::commands::report::{About, page_of};
use crate::comparing::Compared;
use crate::output::{Ended, Out};
use counterpane_compare::json::{ComparisonJson, MethodsJson};
use counterpane_report::methods::{Methods, methods};
use counterpane_store::Study;

/// Prints the text as paragraphs, or adds it to the JSON of the comparison.
pub(super) fn print(study: &Study, compared: Compared, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let about = About { title: study.config().name.clone(), invented: false, pictures: false };
    let page = page_of(study, compared, &args.choice, about)?;
    let Methods { paragraphs, references } = methods(&page);
    match args.format {
        Shape::Json => out.json(&ComparisonJson {
            methods: Some(MethodsJson { paragraphs, references }),
            ..ComparisonJson::from(&page.comparison)
        })?,
        Shape::Text => {
            for paragraph in paragraphs {
                out.paragraph(paragraph)?;
                out.line("")?;
            }
            for (i, reference) in references.iter().enumerate() {
                out.paragraph(format_args!("{}. {reference}", i + 1))?;
            }
        }
    }
    Ok(Ended::Fine)
}
