"use strict";
/* The slider from old to new. Without this script the page is whole: three pictures of everything that changed. */
document.documentElement.classList.add("scripted");

for (const slide of document.querySelectorAll(".slide")) {
  const art = slide.querySelector(".art"), range = slide.querySelector("input");
  const part = slide.querySelector("clipPath rect"), edge = slide.querySelector(".wipe");
  const [x, y, width, height] = art.getAttribute("viewBox").split(" ").map(Number);

  const show = () => {
    const share = Number(range.value) / 100, at = x + width * share;
    part.setAttribute("width", width * share);
    edge.setAttribute("d", `M${at} ${y}v${height}`);
    range.setAttribute("aria-valuetext", share === 0 ? "all old" : share === 1 ? "all new" : `left ${range.value} % new, the rest old`);
  };

  const drag = (event) => {
    if (!event.buttons) return;
    const seen = art.getBoundingClientRect();
    range.value = Math.round(100 * (event.clientX - seen.left) / seen.width);
    show();
  };

  range.addEventListener("input", show);
  art.addEventListener("pointerdown", drag);
  art.addEventListener("pointermove", drag);
  show();
}
