"use strict";
// Ties the map, the profile and the slider of each road together. Everything can be read without it.
const tie = (road) => {
  const data = road.querySelector("script[type='application/json']");
  const points = JSON.parse(data.textContent);
  const map = road.querySelector("svg.map");
  const profiles = road.querySelectorAll("svg.profile");
  const walk = road.querySelector(".walk");
  const slider = walk.querySelector("input");
  const readout = walk.querySelector("output");
  const { far, farUnit, high, highUnit } = data.dataset;

  const show = (index) => {
    const [distance, x, y, elevation, grade] = points[index];
    const dot = map.querySelector("circle.cursor");
    dot.setAttribute("cx", x);
    dot.setAttribute("cy", y);
    dot.setAttribute("visibility", "visible");
    for (const profile of profiles) {
      const { left, right, length } = profile.dataset;
      const at = +left + (distance / length) * (right - left);
      const cursor = profile.querySelector(".cursor");
      cursor.setAttribute("transform", `translate(${at.toFixed(1)} 0)`);
      cursor.setAttribute("visibility", "visible");
    }
    const text = `${(distance / far).toFixed(2)} ${farUnit} · ${Math.round(elevation / high)} ${highUnit} · ${grade.toFixed(1)} %`;
    slider.value = index;
    slider.setAttribute("aria-valuetext", text);
    readout.textContent = text;
  };
  const nearest = (off) => {
    let best = 0;
    for (let i = 1; i < points.length; i++) if (off(points[i]) < off(points[best])) best = i;
    return best;
  };
  const place = (svg, event) =>
    new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());

  for (const profile of profiles) {
    profile.addEventListener("pointermove", (event) => {
      const { left, right, length } = profile.dataset;
      const distance = ((place(profile, event).x - left) / (right - left)) * length;
      show(nearest((point) => Math.abs(point[0] - distance)));
    });
  }
  map.addEventListener("pointermove", (event) => {
    const { x, y } = place(map, event);
    show(nearest((point) => Math.hypot(point[1] - x, point[2] - y)));
  });
  slider.addEventListener("input", () => show(+slider.value));
  walk.hidden = false;
};
for (const road of document.querySelectorAll("[data-road]")) tie(road);
