// The page in motion: a control that moves asks for the plan, the plan takes its place, the address follows. The page is whole without.
{
  const find = (id) => document.getElementById(id);
  const settleAfter = 350;
  let asking = false;
  let again = false;
  let settle = 0;
  let depth = history.state?.depth ?? 0;
  history.replaceState({ depth }, "");

  const query = () => {
    const pairs = [...new FormData(find("order"))].filter(([key, value]) => value !== "" || key !== "route");
    return new URLSearchParams(pairs).toString();
  };

  const groups = (within) => [...within.querySelectorAll("details")];

  // Sections that are out of sight have no height of their own yet: they get that of the ones they take the place of.
  const keepHeights = (plan) => {
    for (const section of plan.querySelectorAll(":scope > section")) {
      const before = find("plan").querySelector(`:scope > section[aria-labelledby="${section.getAttribute("aria-labelledby")}"]`);
      if (before) section.style.containIntrinsicBlockSize = `auto ${before.offsetHeight}px`;
    }
  };

  // Puts parts of a page in the place of those that are here, and keeps the focus where it was.
  const place = (source, ids) => {
    const focus = document.activeElement?.id;
    for (const id of ids) {
      const part = source.getElementById(id);
      if (!part) continue;
      const opened = groups(document).map((group) => group.open);
      if (id === "plan") keepHeights(part);
      if (id === "bench") groups(part).forEach((group, index) => { group.open = opened[index] ?? group.open; });
      find(id).replaceWith(part);
      for (const road of part.querySelectorAll("[data-road]")) tie(road);
      if (part.contains(find("order"))) dress();
    }
    if (focus && document.activeElement?.id !== focus) find(focus)?.focus({ preventScroll: true });
  };

  const tellFaults = (complaints) => {
    for (const fault of document.querySelectorAll(".fault")) {
      const told = complaints.filter((complaint) => complaint.key === fault.dataset.key).map((complaint) => complaint.text);
      fault.textContent = told.join(" ");
      fault.hidden = told.length === 0;
      const input = find(fault.id.replace(/-fault$/, ""));
      if (told.length) input?.setAttribute("aria-invalid", "true");
      else input?.removeAttribute("aria-invalid");
    }
    const homes = new Set([...document.querySelectorAll(".fault")].map((fault) => fault.dataset.key));
    const homeless = complaints.filter((complaint) => !homes.has(complaint.key));
    find("told").replaceChildren(...homeless.map((complaint) => Object.assign(document.createElement("p"), { className: "stop", textContent: complaint.text })));
    document.body.classList.toggle("stale", complaints.length > 0);
  };

  const failed = () => {
    tellFaults([{ key: "", text: "The program does not answer. If it was stopped, start it again and load this page anew." }]);
  };

  // The plan for the controls: on the route that is shown while they move, on all routes once they rest.
  const ask = async (whole) => {
    if (asking) {
      again = true;
      return;
    }
    asking = true;
    const now = query();
    const shown = find("plan").dataset.shown;
    const only = whole || !shown ? "" : `&shown=${shown}`;
    try {
      const response = await fetch(`/plan?${now}${only}`);
      const text = await response.text();
      if (response.ok) {
        tellFaults([]);
        place(new DOMParser().parseFromString(text, "text/html"), ["routes", "plan"]);
        if (whole) arrived(now);
      } else if (response.status === 422) {
        tellFaults(JSON.parse(text));
      } else {
        tellFaults([{ key: "", text }]);
      }
    } catch {
      failed();
    }
    asking = false;
    if (again) {
      again = false;
      ask(false);
    }
  };

  // A plan that stays: it gets its address, and undoing comes back to the one before.
  const arrived = (now) => {
    find("heard").textContent = find("plan").dataset.verdict ?? "";
    for (const field of document.querySelectorAll("[data-address]")) field.value = now;
    if (new URLSearchParams(location.search).toString() === now) return;
    depth += 1;
    history.pushState({ depth }, "", `/?${now}`);
    find("undo").disabled = false;
  };

  const moved = () => {
    ask(false);
    clearTimeout(settle);
    settle = setTimeout(() => (asking ? moved() : ask(true)), settleAfter);
  };

  // Another page of ours in the place of this one, without leaving it.
  const load = async (address, options, push) => {
    clearTimeout(settle);
    try {
      const response = await fetch(address, options);
      const text = await response.text();
      if (!response.headers.get("content-type")?.startsWith("text/html")) {
        tellFaults([{ key: "", text }]);
        return;
      }
      const there = new URL(response.url);
      place(new DOMParser().parseFromString(text, "text/html"), ["told", "bench", "plan"]);
      document.body.classList.remove("stale");
      find("heard").textContent = find("plan").dataset.verdict ?? "";
      if (push && there.pathname === "/") {
        depth += 1;
        history.pushState({ depth }, "", there.pathname + there.search);
      }
      find("undo").disabled = depth === 0;
    } catch {
      failed();
    }
  };

  const seconds = (text) => {
    const parts = /^(?:(\d+):)?(\d+):(\d\d)$/.exec(text.trim());
    return parts ? 3600 * (parts[1] ?? 0) + 60 * parts[2] + +parts[3] : NaN;
  };
  const clock = (value) => {
    const two = (number) => String(number).padStart(2, "0");
    const [hours, minutes, rest] = [Math.floor(value / 3600), Math.floor(value / 60) % 60, value % 60];
    return hours ? `${hours}:${two(minutes)}:${two(rest)}` : `${minutes}:${two(rest)}`;
  };

  // Sliders follow their controls, and the line between two is filled.
  const follow = (slider) => {
    const input = find(slider.dataset.for);
    const value = "duration" in slider.dataset ? seconds(input.value) : parseFloat(input.value);
    if (!Number.isNaN(value)) slider.value = value;
    slider.classList.toggle("unset", Number.isNaN(value));
    const line = slider.parentElement;
    const shares = [...line.querySelectorAll("input")].map((each) => (100 * (each.value - each.min)) / (each.max - each.min));
    line.style.setProperty("--from", `${shares.length > 1 ? Math.min(...shares) : 0}%`);
    line.style.setProperty("--to", `${Math.max(...shares)}%`);
  };
  const drag = (slider) => {
    const write = (each) => {
      find(each.dataset.for).value = "duration" in each.dataset ? clock(+each.value) : each.value;
    };
    const [first, second] = slider.parentElement.querySelectorAll("input");
    if (second && slider === first && +first.value > +second.value) second.value = first.value;
    if (second && slider === second && +second.value < +first.value) first.value = second.value;
    write(slider);
    if (second && !second.classList.contains("unset")) write(slider === first ? second : first);
    follow(slider);
  };

  // Shows what only a script can serve, after each change of the controls.
  const dress = () => {
    for (const line of document.querySelectorAll(".single, .double")) {
      line.hidden = false;
      for (const slider of line.querySelectorAll("input")) follow(slider);
    }
    for (const input of document.querySelectorAll("input[data-step]")) if (input.type === "number") input.step = input.dataset.step;
    for (const go of document.querySelectorAll(".go")) go.hidden = true;
    for (const form of document.querySelectorAll("form.upload")) {
      if (form.querySelector("input[type=file]")) form.querySelector("button").hidden = true;
    }
  };

  // A band of power keeps what it means when its unit changes.
  const convertPower = (unit) => {
    const fields = find("order").elements;
    const threshold = parseFloat(fields["rider.threshold_w"]?.value);
    const band = unit.name.slice(0, -"unit".length);
    for (const end of ["from", "to", "aim"]) {
      const field = fields[band + end];
      const value = parseFloat(field?.value);
      if (!(threshold > 0) || Number.isNaN(value)) continue;
      field.value = unit.value === "W" ? Math.round((value * threshold) / 100) : Math.round((1000 * value) / threshold) / 10;
    }
  };

  document.addEventListener("input", (event) => {
    const target = event.target;
    if (target.name?.endsWith(".power.unit")) convertPower(target);
    if (target.dataset.for) drag(target);
    else if (target.form?.id !== "order") return;
    else for (const slider of document.querySelectorAll(`[data-for="${target.id}"]`)) follow(slider);
    if ("reload" in target.dataset) load(`/?${query()}`, {}, true);
    else moved();
  });

  document.addEventListener("submit", (event) => {
    const form = event.target;
    event.preventDefault();
    if (form.id === "order") {
      moved();
      return;
    }
    for (const field of form.querySelectorAll("[data-address]")) field.value = query();
    load(form.action, { method: "POST", body: new FormData(form) }, true);
  });

  document.addEventListener("change", (event) => {
    if (event.target.type === "file") event.target.form.requestSubmit();
  });

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-live]");
    if (!link || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
    event.preventDefault();
    load(link.href, {}, true);
  });

  for (const kind of ["dragenter", "dragover"]) {
    document.addEventListener(kind, (event) => {
      if (!event.dataTransfer.types.includes("Files")) return;
      event.preventDefault();
      document.body.classList.add("dropping");
    });
  }
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) document.body.classList.remove("dropping");
  });
  document.addEventListener("drop", (event) => {
    if (!event.dataTransfer.files.length) return;
    event.preventDefault();
    document.body.classList.remove("dropping");
    const input = find("file-routes");
    input.files = event.dataTransfer.files;
    input.form.requestSubmit();
  });

  find("undo").addEventListener("click", () => history.back());
  addEventListener("popstate", (event) => {
    if (!event.state) return;
    depth = event.state.depth;
    load(location.href, {}, false);
  });

  find("undo").hidden = false;
  find("undo").disabled = depth === 0;
  if (matchMedia("(max-width: 960px)").matches) {
    for (const group of document.querySelectorAll(".bench > details, #order > details")) group.open = false;
  }
  dress();
}
