//! The checks that were made, in `report.json`.
//!
//! Invariant: every check of [`check::ALL`](crate::check::ALL) once, with the limits that held for this part.
//! Must not know: how a check works.

use schemars::JsonSchema;
use serde::Serialize;

use crate::check::{self, Check};
use crate::exchange::Subject;
use crate::exchange::decimal::rounded;
use crate::stock::{Limit, Usual};

/// One check that was made.
#[derive(Serialize, JsonSchema)]
pub(super) struct RuleFigures {
    /// Its code, as in its findings.
    code: &'static str,
    /// Its usual limit in words.
    limit: &'static str,
    /// Where the usual limit comes from.
    source: &'static str,
    /// `passed`, or `fault`, `warning` or `note`: the worst of its findings.
    status: &'static str,
    /// How many findings it has.
    findings: usize,
    /// The limits of the shop that it went by.
    shop_limits: Vec<ShopLimitFigures>,
}

/// A limit of the shop.
#[derive(Serialize, JsonSchema)]
struct ShopLimitFigures {
    /// Its name.
    name: &'static str,
    /// Its value: a number, numbers or pairs; null where the check has a table.
    value: LimitFigure,
    /// Unit: `t` thicknesses, `V` die openings, `r` inside radii, `mm`, `°`.
    unit: &'static str,
    /// Source of the value, or who said it.
    source: String,
}

/// A value of a limit.
#[derive(Serialize, JsonSchema)]
#[serde(untagged)]
enum LimitFigure {
    /// A number; null where there is none.
    Number(Option<f64>),
    /// Numbers.
    Numbers(Vec<f64>),
    /// Pairs.
    Pairs(Vec<[f64; 2]>),
}

pub(super) fn rule_figures(subject: &Subject<'_>) -> Vec<RuleFigures> {
    check::ALL.iter().map(|check| figures(subject, check)).collect()
}

fn figures(subject: &Subject<'_>, check: &Check) -> RuleFigures {
    let own = || subject.findings.iter().filter(|finding| finding.code == check.code);
    RuleFigures {
        code: check.code,
        limit: check.limit,
        source: check.source,
        status: own().map(|finding| finding.severity).min().map_or("passed", |severity| severity.word()),
        findings: own().count(),
        shop_limits: check.of.iter().map(|&limit| limit_figures(subject, limit)).collect(),
    }
}

fn limit_figures(subject: &Subject<'_>, limit: Limit) -> ShopLimitFigures {
    let limits = subject.limits;
    let info = limit.info();
    let value = match info.default {
        Usual::Number(_) => LimitFigure::Number(Some(rounded(limits.number(limit)))),
        Usual::Table => LimitFigure::Number(limits.given(limit).map(rounded)),
        Usual::Numbers(_) => {
            LimitFigure::Numbers(limits.numbers(limit).iter().copied().map(rounded).collect())
        }
        Usual::Pairs(_) => {
            LimitFigure::Pairs(limits.pairs(limit).iter().map(|pair| pair.map(rounded)).collect())
        }
    };
    ShopLimitFigures { name: info.name, value, unit: info.unit, source: limits.source(limit) }
}
