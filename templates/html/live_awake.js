// The live checklist: keeps the screen on while a job is open and something of it is left to do.
//
// A browser releases the lock when the page is hidden, so it is taken again when the page is back.

{
  const { job, count } = Live;
  let lock = null;
  let isAsking = false;

  const isWanted = () => !document.hidden && job.hasBegun && count.now().items.length > 0;

  async function settle() {
    if (isAsking || !navigator.wakeLock) return;
    if (!isWanted()) {
      lock?.release();
      lock = null;
      return;
    }
    if (lock && !lock.released) return;
    isAsking = true;
    try {
      lock = await navigator.wakeLock.request("screen");
    } catch {
      // The browser refuses, for instance to save energy. The screen then goes out as it always does.
    }
    isAsking = false;
  }

  Live.onChange(settle);
  document.addEventListener("visibilitychange", settle);
}
