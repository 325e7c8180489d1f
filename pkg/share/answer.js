(function () {
  "use strict";
  var quote = function (text) { return '"' + String(text).replace(/"/g, '""') + '"'; };
  // table is what the page says, a row for each find that was answered.
  var table = function () {
    var fields = [], rows = [];
    document.querySelectorAll("section.find").forEach(function (section) {
      var row = {}, any = false;
      section.querySelectorAll("[name]").forEach(function (input) {
        if (fields.indexOf(input.name) < 0) { fields.push(input.name); }
        row[input.name] = input.value.trim();
        any = any || row[input.name] !== "";
      });
      if (any) { rows.push([section.dataset.id, section.dataset.number, row]); }
    });
    var who = document.getElementById("who").value.trim(), day = document.getElementById("day").value.trim();
    var lines = [["id", "number", "Answered by"].concat(fields, ["opinions.1.on"]).map(quote).join(",")];
    rows.forEach(function (r) {
      lines.push([r[0], r[1], who].concat(fields.map(function (f) { return r[2][f] || ""; }), [day]).map(quote).join(","));
    });
    return lines.join("\r\n") + "\r\n";
  };
  document.getElementById("day").addEventListener("input", function () {
    this.toggleAttribute("data-on", this.value !== ""); // on paper an empty day is a line
  });
  document.getElementById("save").addEventListener("click", function () {
    if (!document.getElementById("who").reportValidity()) { return; } // an opinion is somebody's
    var link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([table()], { type: "text/csv" }));
    link.download = "answer.csv";
    document.body.appendChild(link);
    link.click();
    link.remove();
  });
})();
