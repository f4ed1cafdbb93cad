//! A shop file: what one shop can make, for all families.
//!
//! TOML with one key for each limit. Invariant: every fault has its line in the file; what a family says itself
//! stays as it is.

use std::collections::BTreeMap;
use std::path::Path;

use kernel::diag::{Diagnostic, Origin, Span};
use kernel::history::{LimitSpec, ShopValue};
use kernel::stock::ShopLimits;
use serde::Deserialize;
use toml::Spanned;

use crate::files;
use crate::finding::{Failure, located};
use crate::toml_file::{Row, TomlFile};

/// A value as TOML has it.
#[derive(Deserialize)]
#[serde(untagged)]
enum Written {
    Number(f64),
    Numbers(Vec<f64>),
    Pairs(Vec<Row<2>>),
}

/// Reads a shop file and puts its limits in front of what a family says: what both say is the family's.
/// Limits of another shop file in a saved history go.
///
/// # Errors
/// [`Failure::File`] if it cannot be read, [`Failure::Findings`] if it is no TOML, or has a limit that is not known
/// or cannot be.
pub(crate) fn apply(path: &Path, shop: &mut Vec<LimitSpec>) -> Result<(), Failure> {
    let hint = "write a limit a line, for example `brake_length = 2500`";
    let file = TomlFile::read(path, "files::bad_shop_file", hint)?;
    let name = files::name_of(path);
    let written: BTreeMap<Spanned<String>, Spanned<toml::Value>> = file.parsed()?;
    let mut places = Vec::new();
    let mut said: Vec<LimitSpec> = Vec::new();
    let mut findings = Vec::new();
    let mut limits = ShopLimits::default();
    let mut keys: Vec<_> = written.into_iter().collect();
    keys.sort_by_key(|(key, _)| key.span().start);
    for (key, value) in keys {
        let span = Span(u32::try_from(places.len()).unwrap_or(u32::MAX));
        places.push(Some(file.place(&key.span())));
        let name_of_limit = key.into_inner();
        let value = match value.into_inner().try_into() {
            Ok(Written::Number(number)) => ShopValue::Number(number),
            Ok(Written::Numbers(list)) => ShopValue::Numbers(list),
            Ok(Written::Pairs(list)) => ShopValue::Pairs(list.into_iter().map(|Row(pair)| pair).collect()),
            Err(_) => {
                let origin = Origin { name: name_of_limit.clone(), span: Some(span) };
                let message =
                    format!("`{name_of_limit}` is neither a number nor a list of numbers or of pairs");
                let finding = Diagnostic::fault("files::bad_shop_file", message, origin);
                findings.push(located(finding, &places));
                continue;
            }
        };
        let spec = LimitSpec {
            name: name_of_limit,
            value,
            file: Some(name.clone()),
            of_tools: false,
            span: Some(span),
        };
        findings.extend(spec.apply(&mut limits).err().map(|finding| located(finding, &places)));
        // The place is one of this file, which the family's places do not know.
        said.push(LimitSpec { span: None, ..spec });
    }
    if !findings.is_empty() {
        return Err(file.failed(findings));
    }
    shop.retain(|spec| spec.file.is_none());
    said.retain(|spec| shop.iter().all(|family| family.name != spec.name));
    shop.splice(0..0, said);
    Ok(())
}
