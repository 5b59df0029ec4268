//! The window's state without the window: document, view, tool, results. Every change goes through [`App::drain`].

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use aubergine_core::analysis::evidence::{self, Evidence};
use aubergine_core::analysis::readings::{self, FlowSpread, Way};
use aubergine_core::analysis::sizing::{self, NoSizes, Sizing};
use aubergine_core::analysis::working::{self, Working};
use aubergine_core::analysis::{Analysis, Analyzer, Fix, Setback, ZoneReadings, setbacks};
use aubergine_core::contact::{MatrixRow, Ruling};
use aubergine_core::drawing::{self, Drawing, View, ViewOptions};
use aubergine_core::edit::History;
use aubergine_core::file;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;
use aubergine_core::model::{Document, Plan};
use aubergine_core::units::UnitSystem;

use super::action::Queue;
use super::asked::Asked;
use super::files::Dialogs;
use super::state::{Camera, FileState, Notice, ViewState};
use super::tools::Tool;

/// The built-in samples.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Sample {
    /// The clean one.
    LarkmeadClose,
    /// The one that is wrong on purpose.
    CedarbrakeHollow,
    /// The large one.
    SaltbushCommons,
    /// The one with a dense bed.
    QuinceRow,
}

impl Sample {
    /// Its document.
    ///
    /// # Errors
    /// The loader's sentence, should the sample ever be broken.
    pub fn document(self) -> Result<Document, String> {
        let bytes: &[u8] = match self {
            Self::LarkmeadClose => include_bytes!("../../../sample-plans/larkmead-close.json"),
            Self::CedarbrakeHollow => {
                include_bytes!("../../../sample-plans/cedarbrake-hollow.json")
            }
            Self::SaltbushCommons => {
                include_bytes!("../../../sample-plans/saltbush-commons.json")
            }
            Self::QuinceRow => include_bytes!("../../../sample-plans/quince-row.json"),
        };
        file::load(bytes).map_err(|error| error.to_string())
    }
}

/// Everything the window shows and changes.
pub struct App {
    pub(super) history: History,
    pub(super) file: FileState,
    pub(super) view: ViewState,
    pub(super) camera: Camera,
    pub(super) selection: BTreeSet<Id>,
    /// The last click and how far down it went, so that the next one goes further.
    pub(super) last_click: Option<(PlanPoint, usize)>,
    pub(super) tool: Tool,
    pub(super) queue: Queue,
    pub(super) dialogs: Dialogs,
    pub(super) results: Results,
    pub(super) help: Option<Help>,
    /// Pipe sizes that were asked for.
    pub(super) sizes: Option<Sizes>,
    readings: Asked<Id, Option<ZoneReadings>>,
    ways: Asked<(String, SupplyCase), Option<Way>>,
    spreads: Asked<(Id, SupplyCase, UnitSystem), Vec<FlowSpread>>,
    workings: Asked<(String, SupplyCase), Option<Working>>,
    evidences: Asked<Id, Vec<(Ruling, Evidence)>>,
    matrices: Asked<Id, Vec<MatrixRow>>,
    /// The window is to be closed.
    pub(super) is_quitting: bool,
    analyzer: Analyzer,
}

/// What is known about the plan as it is shown.
#[derive(Clone, Debug)]
pub struct Results {
    /// The revision they belong to.
    pub revision: u64,
    /// Everything worked out.
    pub analysis: Arc<Analysis>,
    /// What is drawn.
    pub drawing: Arc<Drawing>,
    /// Limits around places of the site, in the view that shows them.
    pub setbacks: Arc<Vec<Setback>>,
    /// What it was drawn for.
    pub options: ViewOptions,
    /// Every object in words, in the units and case shown.
    pub words: Arc<BTreeMap<Id, String>>,
    /// Counts every new drawing.
    pub drawn: u64,
}

/// What would help against the finding that is open.
#[derive(Clone, Debug)]
pub struct Help {
    /// The finding.
    pub finding: String,
    /// The revision it was worked out for.
    pub revision: u64,
    /// The changes.
    pub fixes: Vec<Fix>,
}

/// Pipe sizes of least cost, or why there are none.
#[derive(Clone, Debug)]
pub struct Sizes {
    /// The zone they were asked for; `None` for the whole plan.
    pub zone: Option<Id>,
    /// The revision they were worked out for.
    pub revision: u64,
    /// What was found.
    pub found: Result<Sizing, NoSizes>,
}

impl App {
    /// A window on a document.
    #[must_use]
    pub fn new(document: Document, path: Option<PathBuf>, dialogs: Dialogs) -> Self {
        let mut analyzer = Analyzer::default();
        let view = ViewState::new(document.design.site.units);
        let mut file = FileState {
            path,
            ..FileState::default()
        };
        file.is_saved(&document);
        let history = History::new(document);
        let analysis = Arc::new(analyzer.update(&history.document().design));
        let options = view.options();
        let drawing = Arc::new(drawn(&history, &analysis, options));
        let results = Results {
            revision: history.revision(),
            analysis,
            drawing,
            setbacks: Arc::default(),
            options,
            words: Arc::default(),
            drawn: 0,
        };
        let mut app = Self {
            history,
            file,
            view,
            camera: Camera::default(),
            selection: BTreeSet::new(),
            last_click: None,
            tool: Tool::default(),
            queue: Queue::default(),
            dialogs,
            results,
            help: None,
            sizes: None,
            readings: Asked::default(),
            ways: Asked::default(),
            spreads: Asked::default(),
            workings: Asked::default(),
            evidences: Asked::default(),
            matrices: Asked::default(),
            is_quitting: false,
            analyzer,
        };
        app.describe();
        app
    }

    /// The document.
    #[must_use]
    pub const fn document(&self) -> &Document {
        self.history.document()
    }

    /// The design.
    #[must_use]
    pub const fn plan(&self) -> &Plan {
        &self.history.document().design
    }

    /// The history, to look at.
    #[must_use]
    pub const fn history(&self) -> &History {
        &self.history
    }

    /// What is selected.
    #[must_use]
    pub const fn selection(&self) -> &BTreeSet<Id> {
        &self.selection
    }

    /// Where the plan is looked at from.
    #[must_use]
    pub const fn camera(&self) -> &Camera {
        &self.camera
    }

    /// Everything worked out for what is shown.
    #[must_use]
    pub fn analysis(&self) -> &Analysis {
        &self.results.analysis
    }

    /// How often a drawing was made; stays the same while nothing changes.
    #[must_use]
    pub const fn times_drawn(&self) -> u64 {
        self.results.drawn
    }

    /// What is asked for next.
    #[must_use]
    pub const fn queue(&self) -> &Queue {
        &self.queue
    }

    /// The one selected object, if it is one.
    #[must_use]
    pub fn selected_one(&self) -> Option<Id> {
        if self.selection.len() == 1 {
            self.selection.first().copied()
        } else {
            None
        }
    }

    /// Does everything that was asked for, and brings results and drawing up to date. True when something was asked.
    pub fn drain(&mut self) -> bool {
        let mut actions = self.queue.take();
        if let Some(answer) = self.dialogs.poll() {
            super::dispatch::file::answered(self, answer);
        } else if actions.is_empty() {
            return false;
        }
        for action in actions.drain(..) {
            super::dispatch::dispatch(self, action);
        }
        self.update();
        true
    }

    /// Works out what changed.
    pub(super) fn update(&mut self) {
        let revision = self.history.revision();
        let options = self.view.options();
        if revision != self.results.revision {
            self.results.analysis = Arc::new(self.analyzer.update(&self.history.document().design));
            self.selection
                .retain(|id| self.history.document().design.objects.contains(*id));
            self.file.compare(self.history.document());
        } else if options == self.results.options {
            return;
        }
        self.results.drawing = Arc::new(drawn(&self.history, &self.results.analysis, options));
        let has_setbacks = options.view == View::Contact;
        let setbacks = has_setbacks.then(|| setbacks(self.plan()));
        self.results.setbacks = Arc::new(setbacks.unwrap_or_default());
        self.results.revision = revision;
        self.results.options = options;
        self.results.drawn += 1;
        self.describe();
        self.refresh_help();
    }

    fn describe(&mut self) {
        let ids = self.plan().objects.ids();
        let words = ids
            .into_iter()
            .map(|id| (id, super::panels::describe::object(self, id)));
        self.results.words = Arc::new(words.collect());
    }

    /// An object in words: for the tree, the list and headlines alike.
    #[must_use]
    pub fn words(&self, id: Id) -> &str {
        self.results.words.get(&id).map_or("", String::as_str)
    }

    /// Works out what would help against the open finding, if it is still there.
    pub(super) fn refresh_help(&mut self) {
        let Some(open) = self.view.open_finding.clone() else {
            self.help = None;
            return;
        };
        let revision = self.history.revision();
        if self
            .help
            .as_ref()
            .is_some_and(|help| help.finding == open && help.revision == revision)
        {
            return;
        }
        let analysis = Arc::clone(&self.results.analysis);
        match analysis.finding(&open) {
            Some(finding) => {
                let fixes = aubergine_core::analysis::fixes(
                    self.history.document(),
                    &mut self.analyzer,
                    &analysis,
                    finding,
                );
                self.help = Some(Help {
                    finding: open,
                    revision,
                    fixes,
                });
            }
            None => {
                self.view.open_finding = None;
                self.help = None;
            }
        }
    }

    /// Searches pipe sizes of least cost for the plan as it is.
    pub(super) fn size(&mut self, zone: Option<Id>) {
        self.update();
        let analysis = Arc::clone(&self.results.analysis);
        let found = sizing::size(self.history.document(), &mut self.analyzer, &analysis, zone);
        self.sizes = Some(Sizes {
            zone,
            revision: self.history.revision(),
            found,
        });
    }

    /// The sizes last asked for, if they are for this zone and for the plan as it is.
    pub(super) fn sizes_of(&self, zone: Option<Id>) -> Option<&Result<Sizing, NoSizes>> {
        self.sizes
            .as_ref()
            .filter(|sizes| sizes.zone == zone && sizes.revision == self.history.revision())
            .map(|sizes| &sizes.found)
    }

    /// What is read off a zone, worked out when it is first shown.
    #[must_use]
    pub fn readings(&self, zone: Id) -> Arc<Option<ZoneReadings>> {
        let analysis = &self.results.analysis;
        self.readings.get(analysis, zone, || {
            aubergine_core::analysis::readings(self.plan(), analysis, zone)
        })
    }

    /// The way to a place in the case shown, worked out when it is first shown.
    pub(super) fn way(&self, place: &str) -> Arc<Option<Way>> {
        let (analysis, case) = (&self.results.analysis, self.view.case);
        self.ways.get(analysis, (place.to_owned(), case), || {
            let place = readings::place(analysis, place, case)?;
            readings::way(self.plan(), analysis, &place, case)
        })
    }

    /// How the emitter flows of a zone spread in the case shown, worked out when it is first shown.
    pub(super) fn spreads(&self, zone: Id) -> Arc<Vec<FlowSpread>> {
        let (analysis, case, units) = (&self.results.analysis, self.view.case, self.view.units);
        self.spreads.get(analysis, (zone, case, units), || {
            let solved = analysis.zones.get(&zone);
            solved.map_or_else(Vec::new, |solved| {
                readings::flow_spreads(self.plan(), solved, case, units)
            })
        })
    }

    /// How the numbers of an object or place come about in the case shown, worked out when it is first shown.
    #[must_use]
    pub fn working(&self, of: &str) -> Arc<Option<Working>> {
        let (analysis, case) = (&self.results.analysis, self.view.case);
        self.workings.get(analysis, (of.to_owned(), case), || {
            working::working(self.plan(), analysis, of, case)
        })
    }

    /// The verdicts on a planted place with what is behind them, worked out when it is first shown.
    pub(super) fn evidence(&self, id: Id) -> Arc<Vec<(Ruling, Evidence)>> {
        let analysis = &self.results.analysis;
        self.evidences.get(analysis, id, || {
            let of_water = analysis.contact.iter().flat_map(|(water, judged)| {
                let rulings = judged.rulings.iter();
                let rulings: Vec<&Ruling> = rulings.filter(|it| it.subject == id).collect();
                let behind = evidence::evidence(self.plan(), analysis, *water, &rulings);
                rulings.into_iter().cloned().zip(behind)
            });
            of_water.collect()
        })
    }

    /// What the rules say of every crop under every method, worked out when it is first shown.
    pub(super) fn crop_matrix(&self, water: Id) -> Arc<Vec<MatrixRow>> {
        let analysis = &self.results.analysis;
        self.matrices.get(analysis, water, || {
            aubergine_core::analysis::crop_matrix(self.plan(), water)
        })
    }

    /// Where the plan is kept, for what is remembered of one plan only.
    pub(super) fn place_of_file(&self) -> (Option<PathBuf>, String) {
        (self.file.path.clone(), self.plan().name.clone())
    }

    /// Puts another document in place of this one, with its units and its lowest supply; view mode and theme stay.
    pub(super) fn replace(&mut self, document: Document, path: Option<PathBuf>) {
        let units = document.design.site.units;
        self.history = History::new(document);
        self.file.path = path;
        let now = self.history.document().clone();
        self.file.is_saved(&now);
        self.selection.clear();
        self.tool = Tool::default();
        self.help = None;
        self.sizes = None;
        self.view.open_finding = None;
        self.view.is_fitted = false;
        self.view.units = units;
        self.view.case = SupplyCase::Low;
        // No revision of the new history is that of the old results.
        self.results.revision = u64::MAX;
        self.update();
        super::dispatch::view::fit(self);
    }

    /// Opens a file; the plan that is open stays when it cannot be read.
    pub(super) fn open(&mut self, path: &Path) {
        match crate::disk::read(path) {
            Ok(document) => self.replace(document, Some(path.to_owned())),
            Err(text) => self.say_problem(text),
        }
    }

    pub(super) fn say(&mut self, text: impl Into<String>) {
        self.view.notice = Some(Notice {
            text: text.into(),
            is_problem: false,
        });
    }

    pub(super) fn say_problem(&mut self, text: impl Into<String>) {
        self.view.notice = Some(Notice {
            text: text.into(),
            is_problem: true,
        });
    }
}

fn drawn(history: &History, analysis: &Analysis, options: ViewOptions) -> Drawing {
    let document = history.document();
    drawing::build(&document.design, &document.review, analysis, options)
}
