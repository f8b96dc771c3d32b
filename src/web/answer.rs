//! The plan on the page: the sheet's own parts, with what can be chosen on it.

use maud::{Markup, html};

use super::address::Address;
use super::order::Order;
use super::planning::{Answer, Ranked};
use super::takeaway;
use crate::matching::cost::how_much_worse;
use crate::output::document::{ClimbEntry, PlanEntry};
use crate::output::plan_text::which_reps;
use crate::output::sheet::gears;
use crate::output::sheet::notes::{cautions, footer, route_name};
use crate::output::sheet::plan::{self, BestRoute, PlanSheet};
use crate::output::{Paper, clean};

/// An answer to be shown.
#[derive(Debug, Clone, Copy)]
pub struct Shown<'a> {
    /// What it answers.
    pub order: &'a Order,
    /// The same, as it was asked.
    pub address: &'a Address,
    /// The answer.
    pub answer: &'a Answer,
}

impl Shown<'_> {
    /// The plan, all of the page but routes and controls.
    pub fn plan(&self) -> Markup {
        let Shown { order, answer, .. } = self;
        let sheet = self.sheet();
        let number = answer.shown.as_ref().map(|s| s.ground.number);
        html! {
            main #plan tabindex="-1" data-shown=[number] data-verdict=(self.verdict()) {
                (plan::heading(&sheet))
                @if let Some(missing) = self.missing() {
                    p.stop { (missing) " is not here: drop its file on this page again. Until then another route is shown, without what was wished of its climbs." }
                }
                @for note in &order.rider.notes { p.how { (clean(note)) } }
                (takeaway::links(self.address))
                @match (answer.document.routes.first(), &sheet.best) {
                    (Some(route), Some(best)) => {
                        @let (road, rest) = rayon::join(|| plan::road(&sheet, route, best), || self.under_the_road(&sheet, route, best));
                        (road)
                        (rest)
                    }
                    _ => { p.stop { "No route is here. Drop a route file on this page." } }
                }
                (plan::without_road(&sheet))
                (cautions(&answer.document.cautions))
                (footer())
            }
        }
    }

    fn under_the_road(&self, sheet: &PlanSheet, route: &PlanEntry, best: &BestRoute) -> Markup {
        html! {
            (self.climbs(route))
            (plan::each_rep(sheet, route, best))
            (gears::section(sheet, route, best))
            (plan::how_sure(sheet, route))
        }
    }

    /// The route that was chosen, if it isn't here: its file is all that an address does not hold.
    fn missing(&self) -> Option<String> {
        let chosen = self.order.route.as_ref()?;
        let shown = self.answer.shown.as_ref()?;
        (*chosen != shown.ground.key).then(|| clean(chosen))
    }

    /// What every form of the answer is made from.
    pub fn sheet(&self) -> PlanSheet<'_> {
        let Shown { order, answer, .. } = self;
        PlanSheet {
            document: &answer.document,
            rider: &order.rider,
            drive: &order.drive,
            set: &order.set,
            demands: &order.demands,
            best: self.best(),
            paper: &order.paper,
        }
    }

    /// What the plan on the shown route was made from.
    fn best(&self) -> Option<BestRoute<'_>> {
        self.answer.shown.as_ref().map(|shown| BestRoute {
            route: &shown.ground.route,
            profile: &shown.ground.profile,
            weather: &shown.weather,
            plan: &shown.plan,
            relief: shown.ground.relief.as_ref(),
        })
    }

    /// A sentence for those who hear the page: whether the set fits.
    pub fn verdict(&self) -> String {
        match self.answer.document.routes.first() {
            Some(route) => plan::verdict(route, &self.answer.document.asked, &self.order.paper),
            None => "No route is here.".to_owned(),
        }
    }

    /// The routes, the best first, each with a way to choose and to remove it.
    pub fn routes(&self, token: &str) -> Markup {
        let paper = &self.order.paper;
        let shown = self.answer.shown.as_ref().map(|s| s.ground.number);
        let chosen = self.order.route.is_some();
        html! {
            ol #routes.routes {
                @for ranked in &self.answer.ranking {
                    li { (self.route(ranked, shown == Some(ranked.number), paper, token)) }
                }
                @if chosen && self.answer.ranking.len() > 1 {
                    li.best { a data-live="" href=(self.choosing(None)) { "Show whichever is best" } }
                }
            }
        }
    }

    fn route(&self, ranked: &Ranked, shown: bool, paper: &Paper, token: &str) -> Markup {
        let entry = &ranked.entry;
        let all = entry.reps.len() + entry.unplaced.len();
        let name = route_name(&entry.source, entry.name.as_deref());
        html! {
            a data-live="" href=(self.choosing(Some(&ranked.key))) aria-current=[shown.then_some("true")] {
                span.name { (name) }
                span.fit { (entry.reps.len()) " of " (all) }
                span.facts { (paper.far(entry.length_m)) ", " (paper.short(entry.total.ascent_m)) " up" }
            }
            form method="post" enctype="multipart/form-data" action=(format!("/remove?token={token}")) {
                input type="hidden" name="route" value=(ranked.number);
                input type="hidden" name="address" data-address="" value=(self.address.query());
                button.quiet type="submit" aria-label=(format!("Remove {name}")) title="Remove" { "×" }
            }
        }
    }

    /// Another route chosen. Wishes are about climbs of one route, so they go with it.
    fn choosing(&self, key: Option<&str>) -> String {
        let address = self.address.without(|k| k == "keep" || k == "avoid");
        format!("/?{}", address.with("route", key).query())
    }

    /// Every climb: which rep is on it or why none is, and what can be wished.
    fn climbs(&self, route: &PlanEntry) -> Markup {
        let paper = &self.order.paper;
        let unit = paper.far_unit();
        html! {
            @if !route.climbs.is_empty() {
                section aria-labelledby="climbs" {
                    h2 id="climbs" { "The climbs" }
                    div.scroll tabindex="0" role="group" aria-labelledby="climbs" {
                        table.climbs.choose {
                            thead { tr {
                                th.left scope="col" { "Climb" }
                                th scope="col" { "From " (unit) }
                                th scope="col" { "Length" }
                                th scope="col" { "Grade" }
                                th.left scope="col" { "Who rides it, or why nobody does" }
                                th.left scope="col" { "Your wish" }
                            } }
                            tbody { @for climb in &route.climbs { (self.climb(route, climb)) } }
                        }
                    }
                }
            }
        }
    }

    fn climb(&self, route: &PlanEntry, climb: &ClimbEntry) -> Markup {
        let paper = &self.order.paper;
        let avoided = self.order.wishes.avoid.contains(&climb.id);
        let on_it: Vec<usize> = route
            .reps
            .iter()
            .filter(|rep| rep.climbs.contains(&climb.id))
            .map(|rep| rep.rep)
            .collect();
        let turning = route.turning_round.as_ref();
        let turning: Vec<usize> = turning
            .into_iter()
            .flat_map(|t| &t.reps)
            .filter(|rep| rep.climbs.contains(&climb.id))
            .map(|rep| rep.rep)
            .collect();
        html! {
            tr.used[!on_it.is_empty()] {
                th.left scope="row" { (climb.id) }
                td { (paper.far_number(climb.start.distance_m)) }
                td { (paper.short(climb.length_m)) }
                td { (format!("{:.1} %", climb.grade_pct)) }
                td.left.why {
                    @if on_it.is_empty() && !turning.is_empty() { (which_reps(&turning)) ", if you turn round" }
                    @else if on_it.is_empty() { (climb.why.as_deref().unwrap_or("")) } @else {
                        @for rep in &on_it { a.badge href=(format!("#rep-{rep}")) aria-label=(format!("rep {rep}")) { (rep) } " " }
                    }
                }
                td.left.wishes { (self.wishes(route, climb.id, &on_it, avoided)) }
            }
        }
    }

    fn wishes(&self, route: &PlanEntry, climb: usize, on_it: &[usize], avoided: bool) -> Markup {
        let kept = &self.order.wishes.keep;
        let keeps = kept
            .iter()
            .filter(|(_, c)| *c == climb)
            .map(|(rep, _)| *rep);
        let keeps: Vec<usize> = keeps.collect();
        let others = route.reps.iter().filter_map(|rep| {
            let other = rep.others.iter().find(|other| other.climb == climb)?;
            Some((rep.rep, other.more_s))
        });
        let wish = |name: String, to: String, on: bool, words: Markup| {
            html! {
                a.wish.on[on] data-live="" id=(format!("wish-{climb}-{name}")) href=(to) { (words) }
            }
        };
        html! {
            @for rep in &keeps {
                (wish(format!("keep-{rep}"), self.let_go(*rep), true, html! { "Rep " (rep) " kept: let go" }))
            }
            @for rep in on_it.iter().filter(|rep| !keeps.contains(rep)) {
                (wish(format!("keep-{rep}"), self.keeping(*rep, climb), false, html! { "Keep rep " (rep) " here" }))
            }
            @if !avoided {
                @for (rep, more_s) in others.filter(|(rep, _)| !on_it.contains(rep)).take(2) {
                    (wish(format!("keep-{rep}"), self.keeping(rep, climb), false, html! { "Rep " (rep) " here" small { ": " (how_much_worse(more_s)) } }))
                }
            }
            @if avoided {
                (wish("avoid".to_owned(), self.allowing(climb), true, html! { "Left out: allow" }))
            } @else {
                (wish("avoid".to_owned(), self.avoiding(climb), false, html! { "Leave out" }))
            }
        }
    }

    fn keeping(&self, rep: usize, climb: usize) -> String {
        let mut kept: Vec<(usize, usize)> = self.order.wishes.keep.clone();
        kept.retain(|k| k.0 != rep);
        kept.push((rep, climb));
        kept.sort_unstable();
        self.wishing(&kept, &self.avoided_but(climb))
    }

    fn let_go(&self, rep: usize) -> String {
        let mut kept = self.order.wishes.keep.clone();
        kept.retain(|k| k.0 != rep);
        self.wishing(&kept, &self.order.wishes.avoid)
    }

    fn avoiding(&self, climb: usize) -> String {
        let mut kept = self.order.wishes.keep.clone();
        kept.retain(|k| k.1 != climb);
        let mut avoided = self.avoided_but(climb);
        avoided.push(climb);
        avoided.sort_unstable();
        self.wishing(&kept, &avoided)
    }

    fn allowing(&self, climb: usize) -> String {
        self.wishing(&self.order.wishes.keep, &self.avoided_but(climb))
    }

    fn avoided_but(&self, climb: usize) -> Vec<usize> {
        let avoided = self.order.wishes.avoid.iter().copied();
        avoided.filter(|a| *a != climb).collect()
    }

    /// The address with other wishes, for the route that is shown.
    fn wishing(&self, kept: &[(usize, usize)], avoided: &[usize]) -> String {
        let kept: Vec<String> = kept
            .iter()
            .map(|(rep, climb)| format!("{rep}={climb}"))
            .collect();
        let avoided: Vec<String> = avoided.iter().map(usize::to_string).collect();
        let value = |list: &[String]| (!list.is_empty()).then(|| list.join(", "));
        let route = self.answer.shown.as_ref().map(|s| s.ground.key.as_str());
        let address = self
            .address
            .with("keep", value(&kept).as_deref())
            .with("avoid", value(&avoided).as_deref())
            .with("route", route);
        format!("/?{}", address.query())
    }
}
