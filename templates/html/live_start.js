// The live checklist: puts the page together, and opens the job that was open last.

{
  const { make, say, job, page } = Live;
  const head = document.querySelector(".head");

  // Everything between the title and the first step can be folded away once a job has begun.
  const fold = make("div", { class: "fold", id: "job-panel" });
  const toggle = Live.button("", () => show(!isShown), { class: "fold-toggle", "aria-controls": fold.id });
  let isShown = true;

  function show(isOpen) {
    isShown = isOpen;
    fold.classList.toggle("folded", !isOpen);
    toggle.setAttribute("aria-expanded", String(isOpen));
  }

  const firstSection = document.querySelector("main > section");
  const between = [];
  // What a fault table says before its first section belongs to it.
  for (let next = head.nextElementSibling; page.isChecklist && next && next !== firstSection; next = next.nextElementSibling) {
    between.push(next);
  }
  const ofHead = head.querySelectorAll(":scope > .facts, :scope > .entries, :scope > .address");
  fold.append(...ofHead, Live.panel, ...between);
  head.after(Live.bar, toggle, fold);

  Live.onChange(() => {
    const serial = job.value("sheet", "serial-number");
    const parts = [job.number ? say("job", { number: job.number }) : say("no-job"), serial].filter(Boolean);
    Live.setText(toggle, parts.join(" · "));
  });

  document.body.classList.add("live");
  job.openLast();
  // Until the page is opened again: what is tapped must not move away from the finger.
  fold.classList.toggle("asks", !job.hasBegun);
  show(false);
  Live.bench.begin(fold);
  performance.mark("live");
}
