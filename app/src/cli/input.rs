//! The plan of a command: read, its option chosen, worked out.

use std::path::Path;

use aubergine_core::analysis::sizing::{self, NoSizes, Sizing};
use aubergine_core::analysis::{Analysis, Analyzer, Fix, fixes_for_all};
use aubergine_core::ids::Id;
use aubergine_core::model::Document;
use aubergine_core::report::Checked;

use super::{Common, Failure};
use crate::disk;

/// A plan with everything about it.
pub(super) struct Opened {
    pub(super) document: Document,
    pub(super) analysis: Analysis,
    pub(super) date: String,
    analyzer: Analyzer,
}

impl Opened {
    /// Reads a plan and works it out.
    pub(super) fn read(path: &Path, common: &Common) -> Result<Self, Failure> {
        let mut document = disk::read(path)?;
        if let Some(option) = &common.option {
            document.design = document
                .resolve(Some(option))
                .ok_or_else(|| format!("The plan has no option named \"{option}\"."))?;
        }
        let mut analyzer = Analyzer::default();
        let analysis = analyzer.update(&document.design);
        Ok(Self {
            document,
            analysis,
            date: common.date(),
            analyzer,
        })
    }

    /// What would help against each finding, tried out.
    pub(super) fn fixes(&mut self) -> Vec<(String, Vec<Fix>)> {
        fixes_for_all(&self.document, &mut self.analyzer, &self.analysis)
    }

    /// Pipe sizes at least cost, for one zone or all.
    pub(super) fn sizes(&mut self, zone: Option<Id>) -> Result<Sizing, NoSizes> {
        sizing::size(&self.document, &mut self.analyzer, &self.analysis, zone)
    }

    /// The plan as reports take it.
    pub(super) fn checked<'a>(
        &'a self,
        fixes: &'a [(String, Vec<Fix>)],
        common: &Common,
    ) -> Checked<'a> {
        Checked {
            plan: &self.document.design,
            review: &self.document.review,
            analysis: &self.analysis,
            fixes,
            shown: common.shown(),
            units: common.units(self.document.design.site.units),
            date: &self.date,
        }
    }
}
