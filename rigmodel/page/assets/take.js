// Files to take away: the page says what is being made, and why something could not be.

function saveAs(name, blob) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000); // the browser has it long before
}

// The name the server gives a file; in any alphabet (RFC 6266).
function nameOf(answer) {
  const told = answer.headers.get("content-disposition") || "";
  const coded = /filename\*=UTF-8''([^;]+)/.exec(told);
  return coded ? decodeURIComponent(coded[1]) : (/filename="([^"]+)"/.exec(told) || [])[1] || "file";
}

async function reason(answer) {
  const text = await answer.text();
  try {
    return JSON.parse(text).message || text;
  } catch {
    return text;
  }
}

class Taking {
  constructor(menu) {
    this.said = byId("taking");
    menu.addEventListener("click", (event) => {
      const link = event.target.closest("a[href]");
      if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
      event.preventDefault();
      menu.open = false; // what is said now stands under it
      menu.querySelector("summary").focus({ preventScroll: true });
      if (link.getAttribute("aria-busy") !== "true") this.take(link);
    });
  }

  async take(link) {
    const what = link.textContent;
    link.setAttribute("aria-busy", "true");
    this.said.textContent = `Making: ${what} …`;
    byId("wrong").textContent = "";
    try {
      const answer = await fetch(link.href);
      if (!answer.ok) throw new Error(await reason(answer));
      saveAs(nameOf(answer), await answer.blob());
      this.said.textContent = `${what} is in your downloads.`;
    } catch (error) {
      this.said.textContent = "";
      const why = error instanceof TypeError ? "the server did not answer" : error.message;
      byId("wrong").textContent = `${what} could not be made: ${why}. Try again.`;
    } finally {
      link.removeAttribute("aria-busy");
    }
  }
}
