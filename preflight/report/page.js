"use strict";
/* Zoom, and the way from a number to its row and back. Without this script the page is whole: list and marked picture. */
document.documentElement.classList.add("scripted");

const CLOSEST_MM = 8, STEP = 1.5, PIN_PX = 11, PHONE_PIN_PX = 8.5;
const still = matchMedia("(prefers-reduced-motion: reduce)");
const desks = [];

class Desk {
  constructor(look) {
    this.look = look;
    this.stage = look.querySelector(".stage");
    this.art = look.querySelector(".art");
    this.told = look.querySelector(".told");
    const [x, y, w, h] = this.art.getAttribute("viewBox").split(" ").map(Number);
    this.all = { x, y, w, h };
    this.view = { x, y, w, h };
    this.width = Number(this.art.dataset.width);
    this.height = Number(this.art.dataset.height);
    this.chosen = null;
    this.fingers = new Map();
    this.listen();
    this.show(this.view);
  }

  get scale() {
    const seen = this.art.getBoundingClientRect();
    return Math.min(seen.width / this.view.w, seen.height / this.view.h) || 1;
  }

  show(view) {
    const w = Math.min(Math.max(view.w, CLOSEST_MM), this.all.w);
    const h = w * this.all.h / this.all.w;
    const x = Math.min(Math.max(view.x, this.all.x), this.all.x + this.all.w - w);
    const y = Math.min(Math.max(view.y, this.all.y), this.all.y + this.all.h - h);
    this.view = { x, y, w, h };
    this.art.setAttribute("viewBox", `${x} ${y} ${w} ${h}`);
    this.stage.classList.toggle("near", w < this.all.w * 0.999);
    this.measure();
  }

  measure() {
    const scale = this.scale, seen = this.art.getBoundingClientRect();
    const phone = narrow(), { radius, phone: phoneRadius } = this.art.dataset;
    const pin = phone ? PHONE_PIN_PX : Math.min(PIN_PX, Math.max(7.5, Math.min(seen.width, seen.height) * 0.026));
    const size = pin / ((phone ? phoneRadius : radius) * scale);
    this.art.style.setProperty("--pin", size);
    this.art.style.setProperty("--same", Math.min(size, 1));
    const bar = this.look.querySelector(".scalebar");
    const mm = [0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500].find((step) => step * scale >= 48) || 500;
    bar.querySelector("i").style.width = `${mm * scale}px`;
    bar.querySelector("b").textContent = `${mm} mm`;
  }

  glide(to) {
    cancelAnimationFrame(this.frame);
    if (still.matches) { this.show(to); return; }
    const from = { ...this.view }, start = performance.now();
    const step = (now) => {
      const part = Math.min((now - start) / 260, 1), ease = part * (2 - part), mix = {};
      for (const key of ["x", "y", "w", "h"]) mix[key] = from[key] + (to[key] - from[key]) * ease;
      this.show(mix);
      if (part < 1) this.frame = requestAnimationFrame(step);
    };
    this.frame = requestAnimationFrame(step);
  }

  zoom(factor, at) {
    const about = at || { x: this.view.x + this.view.w / 2, y: this.view.y + this.view.h / 2 };
    const w = Math.min(Math.max(this.view.w / factor, CLOSEST_MM), this.all.w), ratio = w / this.view.w;
    this.show({
      x: about.x - (about.x - this.view.x) * ratio, y: about.y - (about.y - this.view.y) * ratio,
      w, h: this.view.h * ratio,
    });
  }

  move(dx, dy) {
    this.show({ ...this.view, x: this.view.x + dx, y: this.view.y + dy });
  }

  place(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.art.getScreenCTM().inverse());
    return { x: point.x, y: point.y };
  }

  frameOf(mark) {
    const rect = mark.querySelector(".frame");
    const [x, y, w, h] = ["x", "y", "width", "height"].map((key) => Number(rect.getAttribute(key)));
    const ratio = this.all.w / this.all.h;
    const width = Math.max(w * 1.9, h * 1.9 * ratio, this.all.w / 9, 30);
    if (width > this.all.w * 0.8) return { ...this.all };
    return { x: x + w / 2 - width / 2, y: y + h / 2 - width / ratio / 2, w: width, h: width / ratio };
  }

  marks(finding) {
    return [...this.art.querySelectorAll(`.mark[data-finding="${finding}"]`)]
      .sort((a, b) => a.dataset.place - b.dataset.place);
  }

  choose(finding, place, { go = true } = {}) {
    const marks = this.marks(finding);
    const index = Math.min(Math.max(place, 0), Math.max(marks.length - 1, 0));
    forget();
    this.chosen = { finding, index };
    this.art.classList.add("choosing");
    for (const part of this.art.querySelectorAll(`[data-finding="${finding}"]`)) {
      part.classList.add("chosen");
      part.classList.toggle("also", Number(part.dataset.place) !== index);
    }
    if (marks[index]) marks[index].parentNode.append(marks[index]);
    const row = document.getElementById(`f${finding}`);
    row.classList.add("chosen");
    this.tell(row, marks.length, index);
    if (go && marks[index]) this.glide(this.frameOf(marks[index]));
  }

  tell(row, count, index) {
    this.told.hidden = false;
    const says = row.querySelector(".says").textContent;
    this.told.querySelector("span").textContent =
      `${row.dataset.finding}: ${says}` + (count > 1 ? ` Place ${index + 1} of ${count}.` : "");
    for (const button of this.told.querySelectorAll("[data-step]")) button.hidden = count < 2;
    this.told.querySelector(".back").href = `#${row.id}`;
  }

  listen() {
    this.stage.addEventListener("keydown", (event) => this.key(event));
    this.stage.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    this.stage.addEventListener("pointerdown", (event) => this.press(event));
    this.stage.addEventListener("pointermove", (event) => this.drag(event));
    for (const end of ["pointerup", "pointercancel"]) this.stage.addEventListener(end, (event) => this.release(event));
    this.stage.addEventListener("pointerleave", () => { this.look.querySelector(".pointer").textContent = ""; });
    this.stage.addEventListener("touchmove", (event) => {
      if (event.touches.length > 1 && event.cancelable) event.preventDefault();
    }, { passive: false });
    this.stage.addEventListener("click", (event) => {
      if (this.dragged) { event.preventDefault(); event.stopPropagation(); }
    }, true);
    this.look.addEventListener("click", (event) => this.click(event));
    new ResizeObserver(() => this.measure()).observe(this.art);
  }

  click(event) {
    const pin = event.target.closest(".pinned"), button = event.target.closest("[data-zoom],[data-step]");
    if (pin) {
      event.preventDefault();
      this.choose(pin.dataset.finding, Number(pin.dataset.place));
      const row = document.getElementById(`f${pin.dataset.finding}`);
      if (wide()) row.scrollIntoView({ block: "nearest", behavior: still.matches ? "auto" : "smooth" });
    } else if (button && button.dataset.zoom === "all") {
      this.glide(this.all);
    } else if (button && button.dataset.zoom) {
      this.zoom(button.dataset.zoom === "in" ? STEP : 1 / STEP);
    } else if (button) {
      const count = this.marks(this.chosen.finding).length;
      this.choose(this.chosen.finding, (this.chosen.index + Number(button.dataset.step) + count) % count);
    }
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const stride = this.view.w / 8;
    const does = {
      "+": () => this.zoom(STEP), "=": () => this.zoom(STEP), "-": () => this.zoom(1 / STEP), "0": () => this.glide(this.all),
      ArrowLeft: () => this.move(-stride, 0), ArrowRight: () => this.move(stride, 0),
      ArrowUp: () => this.move(0, -stride), ArrowDown: () => this.move(0, stride),
      Escape: () => { forget(); this.glide(this.all); },
    }[event.key];
    const near = this.stage.classList.contains("near");
    if (!does || (event.key.startsWith("Arrow") && !near)) return;
    event.preventDefault();
    does();
  }

  wheel(event) {
    /* The page keeps its wheel until somebody has clicked the picture, or holds the control key. */
    const meant = event.ctrlKey || this.stage.contains(document.activeElement);
    const out = event.deltaY > 0 && !this.stage.classList.contains("near");
    if (!meant || (out && !event.ctrlKey)) return;
    event.preventDefault();
    this.zoom(Math.exp(-Math.max(-60, Math.min(60, event.deltaY)) / 240), this.place(event));
  }

  press(event) {
    this.fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    this.dragged = false;
    cancelAnimationFrame(this.frame);
  }

  drag(event) {
    this.point(event);
    const before = this.fingers.get(event.pointerId);
    if (!before) return;
    const now = { x: event.clientX, y: event.clientY };
    if (this.fingers.size > 1) this.pinch(event.pointerId, before, now);
    else if (this.stage.classList.contains("near")) {
      if (!this.dragged && Math.hypot(now.x - before.x, now.y - before.y) < 4) return;
      if (!this.dragged) this.stage.setPointerCapture(event.pointerId);
      this.dragged = true;
      this.stage.classList.add("held");
      const scale = this.scale;
      this.move((before.x - now.x) / scale, (before.y - now.y) / scale);
    } else return;
    this.fingers.set(event.pointerId, now);
  }

  pinch(id, before, now) {
    const other = [...this.fingers].find(([finger]) => finger !== id)[1];
    const apart = (finger) => Math.max(Math.hypot(finger.x - other.x, finger.y - other.y), 1);
    this.dragged = true;
    this.zoom(apart(now) / apart(before), this.place({ clientX: (now.x + other.x) / 2, clientY: (now.y + other.y) / 2 }));
    const scale = this.scale;
    this.move((before.x - now.x) / 2 / scale, (before.y - now.y) / 2 / scale);
  }

  release(event) {
    this.fingers.delete(event.pointerId);
    this.stage.classList.remove("held");
  }

  point(event) {
    const at = this.place(event), up = this.height - at.y;
    const inside = at.x >= 0 && at.x <= this.width && up >= 0 && up <= this.height;
    this.look.querySelector(".pointer").textContent =
      inside && event.pointerType === "mouse" ? `${at.x.toFixed(1)} from left, ${up.toFixed(1)} from bottom` : "";
  }
}

function wide() {
  return matchMedia("(min-width: 1080px)").matches;
}

function narrow() {
  return matchMedia("(max-width: 640px)").matches;
}

function forget() {
  for (const part of document.querySelectorAll(".chosen")) part.classList.remove("chosen", "also");
  for (const desk of desks) {
    desk.chosen = null;
    desk.art.classList.remove("choosing");
    desk.told.hidden = true;
  }
}

function deskOf(part) {
  return desks.find((desk) => desk.look.dataset.page === part.dataset.page);
}

function copy(button) {
  const words = document.getElementById(button.dataset.copy);
  const done = () => {
    button.textContent = "Copied";
    setTimeout(() => { button.textContent = "Copy"; }, 1600);
  };
  const byHand = () => {
    getSelection().selectAllChildren(words);
    if (document.execCommand("copy")) done();
  };
  if (navigator.clipboard) navigator.clipboard.writeText(words.textContent).then(done, byHand);
  else byHand();
}

for (const look of document.querySelectorAll(".look")) desks.push(new Desk(look));

document.addEventListener("click", (event) => {
  const link = event.target.closest(".goto"), brief = event.target.closest(".brief"), button = event.target.closest(".copy");
  if (button) copy(button);
  if (brief) deskOf(brief).choose(brief.dataset.finding, 0);
  if (!link) return;
  event.preventDefault();
  const desk = deskOf(link);
  desk.choose(link.dataset.finding, Number(link.dataset.place));
  if (!wide()) desk.look.scrollIntoView({ block: "start", behavior: still.matches ? "auto" : "smooth" });
});

document.addEventListener("click", (event) => {
  const row = event.target.closest(".finding");
  if (!row || event.target.closest("a,button,summary,q,pre") || !wide() || String(getSelection())) return;
  deskOf(row).choose(row.dataset.finding, 0);
});

const unfolded = [];
addEventListener("beforeprint", () => {
  for (const desk of desks) {
    desk.printed = { ...desk.view };
    desk.show(desk.all);
    for (const size of ["--pin", "--same"]) desk.art.style.removeProperty(size);
  }
  for (const folded of document.querySelectorAll("details:not([open])")) {
    folded.open = true;
    unfolded.push(folded);
  }
});
addEventListener("afterprint", () => {
  for (const desk of desks) desk.show(desk.printed);
  for (const folded of unfolded.splice(0)) folded.open = false;
});

const asked = /^#f(\d+)$/.exec(location.hash) && document.getElementById(location.hash.slice(1));
if (asked) deskOf(asked).choose(asked.dataset.finding, 0);
