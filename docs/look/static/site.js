"use strict";
// What the style sheet alone cannot do. Without this script every page still reads.
document.addEventListener("DOMContentLoaded", () => {
  const here = document.querySelector("details.here"), beside = matchMedia("(min-width: 80rem)");
  const sized = () => {
    if (here) here.open = beside.matches;
    // What scrolls sideways can be reached with the keyboard; what does not is no stop for it.
    for (const box of document.querySelectorAll("pre, .wide, p:has(> img)")) {
      if (box.scrollWidth > box.clientWidth + 1) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
    }
  };
  sized();
  addEventListener("resize", sized);
  addEventListener("load", sized);
  const sought = new URLSearchParams(location.search).get("q"), field = document.getElementById("sought");
  if (sought && field) field.value = sought;
});
