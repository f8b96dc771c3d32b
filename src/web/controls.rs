//! The controls: plain form controls that hold an address's values, each with its unit and a place for what is wrong with it.

use maud::{Markup, html};

use super::address::Address;
use super::complaint::Complaint;
use super::order;

/// What the controls show.
#[derive(Debug, Clone, Copy)]
pub struct Controls<'a> {
    /// The values.
    pub address: &'a Address,
    /// What is wrong with them.
    pub complaints: &'a [Complaint],
}

/// The number that a slider beside a control goes through: from, to, step. It is for pointing only and the control's bounds are wider.
type Slide = (f64, f64, f64);

impl Controls<'_> {
    /// All groups of controls, to be put into a form.
    pub fn groups(&self) -> Markup {
        let blocks = order::blocks(self.address).max(1);
        html! {
            input type="hidden" name="route" value=(self.value("route"));
            details open {
                summary { "The set" }
                @for block in 1..=blocks { (self.block(block, blocks)) }
                p.block-links {
                    a data-live="" href=(self.another_block(blocks)) { "Add a block" }
                    @if blocks > 1 { a data-live="" href=(self.block_less(blocks)) { "Remove block " (blocks) } }
                }
                (self.duration("warm_up", "Riding before the first rep", Some((0.0, 3600.0, 60.0))))
                (self.text("name", "Name of the set"))
            }
            details open {
                summary { "The rider" }
                (self.number("rider.mass_kg", "Mass, undressed", "kg", Some((45.0, 110.0, 0.5))))
                (self.number("rider.threshold_w", "Threshold power", "W", Some((120.0, 400.0, 1.0))))
                details.more {
                    summary { "More of the rider" }
                    (self.text("rider.name", "Name"))
                    (self.number("rider.easy_share", "Easy power", "of threshold", Some((0.3, 0.7, 0.01))))
                    (self.number("rider.steady_share", "Steady power", "of threshold", Some((0.4, 0.9, 0.01))))
                    (self.number("rider.recovery_ceiling_share", "No recovery above", "of threshold", Some((0.5, 0.95, 0.01))))
                    (self.number("rider.descent_limit_kmh", "Fastest downhill", "km/h", Some((20.0, 80.0, 1.0))))
                }
            }
            details open {
                summary { "The bike" }
                (self.text("bike.chainrings", "Chainrings, teeth"))
                (self.text("bike.sprockets", "Sprockets, teeth"))
                details.more {
                    summary { "More of the bike" }
                    (self.number("bike.mass_kg", "Mass of the bike", "kg", Some((6.0, 20.0, 0.1))))
                    (self.number("bike.kit_kg", "Clothes, shoes, bottles, tools", "kg", Some((0.0, 15.0, 0.1))))
                    (self.text("bike.tyre", "Tyre, as 28-622, or its circumference in mm"))
                    (self.number("bike.crank_mm", "Cranks", "mm", Some((150.0, 180.0, 2.5))))
                    (self.text("bike.hub_ratios", "Ratios of a gear hub"))
                    (self.choice("bike.power_measured_at", "Power is measured at", &[("crank", "cranks or pedals"), ("hub", "the hub")], false))
                    (self.number("resistance.cda_m2", "Drag area", "m²", Some((0.2, 0.6, 0.01))))
                    (self.number("resistance.crr", "Rolling resistance", "", Some((0.002, 0.012, 0.0005))))
                    (self.number("resistance.drivetrain_efficiency", "Drivetrain efficiency", "", Some((0.92, 0.99, 0.001))))
                }
            }
            details open {
                summary { "The weather" }
                (self.number("wind_kmh", "Wind, as forecast", "km/h", Some((0.0, 50.0, 1.0))))
                (self.number("wind_from_deg", "It comes from, clockwise from north", "°", Some((0.0, 360.0, 5.0))))
                details.more {
                    summary { "More of the weather" }
                    (self.choice("shelter", "The road lies", &[("open", "in the open"), ("sheltered", "between trees or houses"), ("none", "where the wind was measured")], false))
                    (self.number("temperature_c", "Temperature", "°C", Some((-10.0, 40.0, 1.0))))
                    (self.number("sea_level_pressure_hpa", "Pressure at sea level", "hPa", Some((970.0, 1050.0, 1.0))))
                    (self.number("humidity_pct", "Relative humidity", "%", Some((0.0, 100.0, 5.0))))
                }
            }
            details {
                summary { "What the plan may do" }
                div.row {
                    label.tick {
                        input type="checkbox" name="turn_round" value="yes" checked[self.value("turn_round") == "yes"];
                        " Turn round and roll back down"
                    }
                }
                (self.number("laps", "Rounds of a loop", "at most", Some((1.0, 5.0, 1.0))))
                (self.choice("pacing", "In a rep the rider holds", &[("cadence", "the cadence"), ("power", "the power")], false))
                (self.text("keep", "Reps kept on climbs, as 3=7, 4=9"))
                (self.text("avoid", "Climbs left out, as 2, 5"))
                (self.choice("units", "Units", &[("metric", "kilometres, metres"), ("imperial", "miles, feet")], false))
            }
        }
    }

    /// What is wrong that has no control of its own.
    pub fn homeless(&self) -> Vec<&str> {
        let at_home = |key: &str| {
            let pairs = self.address.pairs();
            key == "keep" || key == "avoid" || pairs.iter().any(|pair| pair.0 == key)
        };
        let homeless = self.complaints.iter().filter(|c| !at_home(&c.key));
        homeless.map(|c| c.text.as_str()).collect()
    }

    fn block(&self, block: usize, blocks: usize) -> Markup {
        let key = |rest: &str| format!("{block}.{rest}");
        let maximal = self.value(&key("effort")) == "maximal";
        html! {
            fieldset.block {
                legend { @if blocks > 1 { "Block " (block) } @else { "Reps" } }
                (self.number(&key("reps"), "How many", "reps", Some((1.0, 12.0, 1.0))))
                (self.duration(&key("work"), "Each lasts", Some((60.0, 900.0, 15.0))))
                (self.pair(&Pair {
                    keys: [key("recovery.at_least"), key("recovery.at_most")],
                    label: "Easy after each", unit: "min:s", slide: (60.0, 1200.0, 30.0), duration: true,
                }))
                @if maximal {
                    (self.number(&key("from_kmh"), "From a roll of", "km/h", Some((5.0, 30.0, 1.0))))
                } @else {
                    @let watts = self.value(&key("power.unit")) == "W";
                    (self.pair(&Pair {
                        keys: [key("power.from"), key("power.to")],
                        label: if watts { "Power" } else { "Power, of threshold" },
                        unit: if watts { "W" } else { "%" },
                        slide: if watts { (100.0, 400.0, 1.0) } else { (50.0, 120.0, 1.0) },
                        duration: false,
                    }))
                    (self.pair(&Pair {
                        keys: [key("cadence_rpm.from"), key("cadence_rpm.to")],
                        label: "Cadence", unit: "rpm", slide: (30.0, 110.0, 1.0), duration: false,
                    }))
                }
                details.more {
                    summary { @if blocks > 1 { "More of block " (block) } @else { "More of the reps" } }
                    (self.choice(&key("effort"), "Ridden", &[("held", "inside bands"), ("maximal", "all out")], true))
                    @if !maximal {
                        (self.choice(&key("power.unit"), "Power in", &[("%", "per cent of threshold"), ("W", "watts")], true))
                        (self.number(&key("power.aim"), "Power to aim for, blank for the middle", if self.value(&key("power.unit")) == "W" { "W" } else { "%" }, None))
                        (self.number(&key("cadence_rpm.aim"), "Cadence to aim for, blank for the middle", "rpm", None))
                        (self.pair(&Pair {
                            keys: [key("torque_nm.from"), key("torque_nm.to")],
                            label: "Torque at the cranks", unit: "N·m", slide: (10.0, 90.0, 1.0), duration: false,
                        }))
                        (self.number(&key("torque_nm.aim"), "Torque to aim for, blank for the middle", "N·m", None))
                    }
                }
                (self.fault(&block.to_string()))
            }
        }
    }

    fn number(&self, key: &str, label: &str, unit: &str, slide: Option<Slide>) -> Markup {
        let id = id(key);
        html! {
            div.row {
                label for=(id) { (label) }
                span.entry {
                    input.number id=(id) name=(key) type="number" step="any" inputmode="decimal" value=(self.value(key)) data-step=[slide.map(|s| s.2)]
                        aria-describedby=(format!("{id}-unit {id}-fault")) aria-invalid=[self.invalid(key)];
                    span.unit id=(format!("{id}-unit")) { (unit) }
                }
                @if let Some(slide) = slide { (slider(&id, slide, false)) }
                (self.fault(key))
            }
        }
    }

    fn duration(&self, key: &str, label: &str, slide: Option<Slide>) -> Markup {
        let id = id(key);
        html! {
            div.row {
                label for=(id) { (label) }
                span.entry {
                    input.number id=(id) name=(key) type="text" autocomplete="off" value=(self.value(key))
                        aria-describedby=(format!("{id}-unit {id}-fault")) aria-invalid=[self.invalid(key)];
                    span.unit id=(format!("{id}-unit")) { "min:s" }
                }
                @if let Some(slide) = slide { (slider(&id, slide, true)) }
                (self.fault(key))
            }
        }
    }

    fn text(&self, key: &str, label: &str) -> Markup {
        let id = id(key);
        html! {
            div.row.tall {
                label for=(id) { (label) }
                input.text id=(id) name=(key) type="text" autocomplete="off" spellcheck="false" value=(self.value(key))
                    aria-describedby=(format!("{id}-fault")) aria-invalid=[self.invalid(key)];
                (self.fault(key))
            }
        }
    }

    fn choice(&self, key: &str, label: &str, choices: &[(&str, &str)], reload: bool) -> Markup {
        let id = id(key);
        let value = self.value(key);
        html! {
            div.row.tall {
                label for=(id) { (label) }
                select id=(id) name=(key) data-reload[reload] aria-describedby=(format!("{id}-fault")) {
                    @for (choice, words) in choices { option value=(choice) selected[*choice == value] { (words) } }
                }
                (self.fault(key))
            }
        }
    }

    /// A band: its two ends in a row, and one line with two sliders.
    fn pair(&self, pair: &Pair) -> Markup {
        let [from, to] = &pair.keys;
        let kind = if pair.duration { "text" } else { "number" };
        let step = (!pair.duration).then_some("any");
        let end = |key: &str, words: &str| {
            html! {
                input.number id=(id(key)) name=(key) type=(kind) step=[step] value=(self.value(key)) autocomplete="off"
                    data-step=(pair.slide.2)
                    aria-label=(format!("{} {words}, {}", pair.label, pair.unit))
                    aria-describedby=(format!("{}-fault", id(key))) aria-invalid=[self.invalid(key)];
            }
        };
        html! {
            div.row {
                span.label aria-hidden="true" { (pair.label) }
                span.entry {
                    (end(from, "from"))
                    span.to aria-hidden="true" { "to" }
                    (end(to, "to"))
                    span.unit aria-hidden="true" { (pair.unit) }
                }
                span.double hidden aria-hidden="true" {
                    (thumb(&id(from), pair.slide, pair.duration))
                    (thumb(&id(to), pair.slide, pair.duration))
                }
                (self.fault(from))
                (self.fault(to))
            }
        }
    }

    fn fault(&self, key: &str) -> Markup {
        let told: Vec<&str> = self
            .complaints
            .iter()
            .filter(|c| c.key == key)
            .map(|c| c.text.as_str())
            .collect();
        html! {
            p.fault id=(format!("{}-fault", id(key))) data-key=(key) hidden[told.is_empty()] { (told.join(" ")) }
        }
    }

    fn invalid(&self, key: &str) -> Option<&'static str> {
        self.complaints
            .iter()
            .any(|c| c.key == key)
            .then_some("true")
    }

    fn value(&self, key: &str) -> &str {
        self.address.get(key).unwrap_or("")
    }

    /// The address with the last block once more.
    fn another_block(&self, blocks: usize) -> String {
        let mut address = self.address.clone();
        let prefix = format!("{blocks}.");
        for (key, value) in self.address.pairs() {
            if let Some(rest) = key.strip_prefix(&prefix) {
                address.push(format!("{}.{rest}", blocks + 1), value.clone());
            }
        }
        format!("/?{}", address.query())
    }

    /// The address without the last block.
    fn block_less(&self, blocks: usize) -> String {
        let prefix = format!("{blocks}.");
        let address = self.address.without(|key| key.starts_with(&prefix));
        format!("/?{}", address.query())
    }
}

/// Two ends of a band.
struct Pair {
    keys: [String; 2],
    label: &'static str,
    unit: &'static str,
    slide: Slide,
    duration: bool,
}

/// An id for a key; a digit may not be the first.
fn id(key: &str) -> String {
    format!("c-{}", key.replace('.', "-"))
}

/// A slider for one control; the script shows it, as it can do nothing without.
fn slider(target: &str, slide: Slide, duration: bool) -> Markup {
    html! { span.single hidden aria-hidden="true" { (thumb(target, slide, duration)) } }
}

fn thumb(target: &str, (from, to, step): Slide, duration: bool) -> Markup {
    html! {
        input type="range" tabindex="-1" aria-hidden="true" autocomplete="off" min=(from) max=(to) step=(step) data-for=(target) data-duration[duration];
    }
}
