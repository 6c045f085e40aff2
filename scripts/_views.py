"""What is done on the map before a picture is taken, by the picture's name."""

MORE_NEED = """
document.getElementById("tab-priorities").click();
for (const [name, weight] of [["Need", 45], ["Sun and trees", 30]]) {
  const field = document.querySelector(`#sliders [aria-label="${name}: weight"]`);
  field.value = weight;
  field.dispatchEvent(new Event("input"));
}"""
SIDE_BY_SIDE = """
document.getElementById("tab-compare").click();
document.querySelectorAll(".beside tbody th button")[1].click();"""
DISTRICT = """
const choice = document.getElementById("district");
choice.selectedIndex = 2;
choice.dispatchEvent(new Event("change"));"""
HOME = "['tab-distances', 'mark-middle'].forEach((id) => document.getElementById(id).click())"
VIEWS = {
    "map_priorities.png": MORE_NEED,
    "map_compare.png": SIDE_BY_SIDE,
    "map_district.png": DISTRICT,
    "map_home.png": HOME,
}
