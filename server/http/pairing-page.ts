/** The only page that a device sees before it is paired: a field for the code. Works without the built page. */
export const pairingPage = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>Gapwright: let this device in</title>
</head>
<body>
<main>
<h1>Let this device in</h1>
<p>On the computer that runs Gapwright, six digits are shown. Type them here, or point this device’s camera at the picture beside them.</p>
<form id="form">
<p><label for="code">The six digits</label></p>
<p><input id="code" inputmode="numeric" autocomplete="one-time-code" maxlength="7" required size="8"> <button>Let this device in</button></p>
</form>
<p id="said" role="status"></p>
</main>
<script src="/pair.js"></script>
</body>
</html>
`;

/** Sends the code; one that came with the address (from the QR picture) is sent at once, and taken out of the address. */
export const pairingScript = `const form = document.getElementById('form');
const field = document.getElementById('code');
const said = document.getElementById('said');
async function send() {
  said.textContent = 'Asking …';
  try {
    const answer = await fetch('/pair', { method: 'POST', body: JSON.stringify({ code: field.value }) });
    if (answer.ok) {
      location.replace('/');
      return;
    }
    const { text } = await answer.json();
    said.textContent = text.sentence + ' ' + text.nextStep;
  } catch {
    said.textContent = 'The computer does not answer. Check that this device is in the same network, then try again.';
  }
}
form.addEventListener('submit', (event) => {
  event.preventDefault();
  send();
});
if (/^#\\d{6}$/.test(location.hash)) {
  field.value = location.hash.slice(1);
  history.replaceState(null, '', '/pair');
  send();
}
`;
