// What a timer rings with: a sound, which a browser allows only after a tap, and
// vibration where the phone has one. A line on the page says which of it can be
// promised just now; that a locked phone stays silent is said by the page itself.

let player;

/** Only a finished tap or a key counts as one. */
function allow() {
  player ??= new AudioContext();
  // A call or a lock stops it; the next tap starts it again.
  if (player.state !== "running") player.resume().then(tell, tell);
  tell();
}

/** Rings once. */
export function ring() {
  navigator.vibrate?.([300, 150, 300]);
  if (player?.state !== "running") return;
  [0, 0.35, 0.7].forEach((start) => {
    const tone = player.createOscillator();
    const level = player.createGain();
    tone.frequency.value = 880;
    level.gain.value = 0.2;
    tone.connect(level).connect(player.destination);
    tone.start(player.currentTime + start);
    tone.stop(player.currentTime + start + 0.22);
  });
}

function tell() {
  const words =
    player?.state === "running"
      ? "This page rings while it is open and the screen is on."
      : "No sound yet: a browser lets a page ring only after you have tapped it.";
  for (const line of document.querySelectorAll("[data-sound]")) line.textContent = words;
}

for (const tap of ["click", "keydown", "touchend"]) addEventListener(tap, allow);
addEventListener("gylebook:swapped", tell);
addEventListener("visibilitychange", tell);
tell();
