// Begins: finds what the page carries, opens the first setup, and ties the tables to the map.

const texts = new Map();

/** The lines of a program's text, as the page shows it: without their numbers. */
function programLines(name) {
  if (!texts.has(name)) {
    const block = programBlock(name);
    texts.set(name, block ? block.textContent.split("\n").map(line => line.slice(7)) : []);
  }
  return texts.get(name);
}

function programBlock(name) {
  return [...document.querySelectorAll("pre[data-program]")].find(pre => pre.dataset.program === name) ?? null;
}

/** Opens a program's text with one of its lines marked. */
function showLine(name, number) {
  programLines(name);
  const pre = programBlock(name);
  if (!pre) return;
  const lines = pre.textContent.split("\n"),
    mark = document.createElement("mark");
  if (number > lines.length) return;
  mark.textContent = lines[number - 1];
  pre.replaceChildren(
    lines
      .slice(0, number - 1)
      .map(l => l + "\n")
      .join(""),
    mark,
    lines
      .slice(number)
      .map(l => "\n" + l)
      .join(""),
  );
  for (let fold = pre.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  pre.scrollTop = mark.offsetTop - pre.offsetTop - pre.clientHeight / 2;
}

/** What scrolls sideways can be scrolled with the keys too; on a narrow screen the replay begins folded. */
function arrange() {
  document.querySelectorAll(".scroll").forEach(box => {
    const title = box.closest("details")?.querySelector("summary").textContent ?? "Table";
    Object.entries({ tabindex: "0", role: "region", "aria-label": title }).forEach(([name, value]) => box.setAttribute(name, value));
  });
  if (matchMedia("(max-width: 40rem)").matches) document.getElementById("player").open = false;
}

async function start() {
  arrange();
  const data = JSON.parse(document.getElementById("data").textContent);
  data.table = await unpacked(data.table);
  const bench = new Bench(document.getElementById("bench"), data);
  for (const button of document.querySelectorAll("[data-setup]")) {
    button.addEventListener("click", () => bench.open(button.dataset.setup));
  }
  for (const button of document.querySelectorAll("[data-finding]")) {
    button.addEventListener("click", () => bench.jump(Number(button.dataset.finding)));
  }
  await bench.open(data.setups[0].name);
  document.documentElement.dataset.ready = "yes";
  return bench;
}

const ready = document.getElementById("data") ? start() : Promise.resolve(null);
ready.catch(error => {
  const words = "This browser cannot show the map. A newer one can; the pictures depth-*.png show it too.";
  document.getElementById("reading").textContent = `${words} (${error.message})`;
});
