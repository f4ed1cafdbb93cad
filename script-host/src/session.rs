//! What a running script has said so far.
//!
//! Invariant: things are only added; a span is the number of a place in the list of places.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard};

use kernel::diag::Span;
use kernel::history::{
    Aim, DimensionEntry, FORMAT_VERSION, FeatureEntry, FreeNumber, GuardingSpec, History, LimitSpec,
    NeighbourEntry, NeighbourGroup, Parameter, RatesSpec, SettledBendSpec, SheetSpec, StockSheetSpec,
    ToleranceSpec,
};
use rhai::{EvalAltResult, NativeCallContext};

use crate::fault::ScriptFault;
use crate::source::Place;

/// Result of a bound function.
pub(crate) type Bound<T> = Result<T, Box<EvalAltResult>>;

/// A fault at the place of the call.
pub(crate) fn refuse(context: &NativeCallContext<'_>, fault: ScriptFault) -> Box<EvalAltResult> {
    Box::new(EvalAltResult::ErrorRuntime(rhai::Dynamic::from(fault), context.call_position()))
}

/// The part that a script is making.
#[derive(Debug)]
pub(crate) struct Draft {
    /// The sheet.
    pub sheet: SheetSpec,
    /// Numbers left to the solver.
    pub free_numbers: Vec<FreeNumber>,
    /// Features so far.
    pub features: Vec<FeatureEntry>,
    /// Dimensions so far.
    pub dimensions: Vec<DimensionEntry>,
    /// What should be smallest, if the script says it.
    pub aim: Option<Aim>,
    /// Neighbours so far.
    pub neighbours: Vec<NeighbourEntry>,
    /// Groups of neighbours so far.
    pub neighbour_groups: Vec<NeighbourGroup>,
    /// By which rule openings are judged, if the script says it.
    pub guarding: Option<GuardingSpec>,
    /// By how much the shop may be off, if the script says it.
    pub tolerances: Option<ToleranceSpec>,
    /// What is settled about the order of bending.
    pub bend_order: Vec<SettledBendSpec>,
    /// Limits of the shop, if the script says some.
    pub shop: Option<Vec<LimitSpec>>,
    /// The sheet that blanks are cut from, if the script says it.
    pub stock_sheet: Option<StockSheetSpec>,
    /// What work costs, if the script says it.
    pub rates: Option<RatesSpec>,
}

/// Everything a script has said.
#[derive(Debug, Default)]
pub(crate) struct Session {
    /// Values set from outside, as written.
    pub overrides: BTreeMap<String, String>,
    /// Title of the family.
    pub title: String,
    /// Parameters declared so far.
    pub parameters: Vec<Parameter>,
    /// The part, once it is begun.
    pub draft: Option<Draft>,
    /// Places of calls, indexed by span.
    pub places: Vec<Option<Place>>,
    /// Lines printed by the script.
    pub printed: Vec<String>,
}

/// A session shared by the script's handles.
#[derive(Clone, Debug, Default)]
pub(crate) struct Shared(Arc<Mutex<Session>>);

impl Shared {
    /// A session with values set from outside.
    pub(crate) fn new(overrides: BTreeMap<String, String>) -> Self {
        Self(Arc::new(Mutex::new(Session { overrides, ..Session::default() })))
    }

    /// Access for one call. A script runs on one thread and no call holds the session while it calls another
    /// one, so that this never waits.
    pub(crate) fn lock(&self) -> MutexGuard<'_, Session> {
        self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    /// Notes the place of a call.
    pub(crate) fn span(&self, context: &NativeCallContext<'_>) -> Span {
        let mut session = self.lock();
        session.places.push(Place::of(context.call_position()));
        Span(u32::try_from(session.places.len() - 1).unwrap_or(u32::MAX))
    }

    /// Does something with the draft.
    pub(crate) fn with_draft<T>(&self, change: impl FnOnce(&mut Draft) -> T) -> T {
        change(self.lock().draft.as_mut().expect("a part handle exists only once its draft does"))
    }
}

impl Session {
    /// The history that the script has written, if it made a part.
    pub(crate) fn history(&mut self, family: &str) -> Option<History> {
        let draft = self.draft.take()?;
        Some(History {
            format: FORMAT_VERSION,
            family: family.to_owned(),
            title: std::mem::take(&mut self.title),
            parameters: std::mem::take(&mut self.parameters),
            sheet: draft.sheet,
            free_numbers: draft.free_numbers,
            features: draft.features,
            dimensions: draft.dimensions,
            aim: draft.aim,
            neighbours: draft.neighbours,
            neighbour_groups: draft.neighbour_groups,
            guarding: draft.guarding,
            tolerances: draft.tolerances,
            bend_order: draft.bend_order,
            shop: draft.shop.unwrap_or_default(),
            stock_sheet: draft.stock_sheet,
            rates: draft.rates,
        })
    }
}
