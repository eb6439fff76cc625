/* The work of the best route: kilograms, hours, melts, flux, fuel. */
#include <math.h>
#include <string.h>

#include "page.h"

/* "borax 16.6 kg, soda ash 11.1 kg". */
static void add_flux(Page* page, const char* at, Names* said) {
  const char* flux = pool_text(&page->pool, "%s/flux", at);
  const size_t count = ask_count(page, "%s", flux);
  for (size_t i = 0; i < count; ++i) {
    const char* reagent = ask_name(page, flux, i);
    const double mass = ask_number(page, "%s%s", flux, ask_step(page, reagent));
    names_add(&page->pool, said,
              pool_text(&page->pool, "%s" NBSP "%s", reagent, mass_text(&page->pool, mass)));
  }
}

static const char* remarks_of(Page* page, const char* at) {
  const double melts = ask_number(page, "%s/melts", at);
  const double energy = ask_number(page, "%s/energy", at);
  const double fuel = ask_number(page, "%s/fuel", at);
  Pool* pool = &page->pool;
  Names said = {0};
  if (melts > 0)
    names_add(pool, &said,
              pool_text(pool, "%s" NBSP "%s", with_decimals(pool, melts, 0), melts > 1 ? "melts" : "melt"));
  if (fuel > 0) names_add(pool, &said, pool_text(pool, "%s" NBSP "L of fuel", with_figures(pool, fuel, 3)));
  else if (energy > 0)
    names_add(pool, &said, pool_text(pool, "%s" NBSP "kWh of heat", with_figures(pool, energy, 3)));
  add_flux(page, at, &said);
  return names_listed(pool, &said);
}

static void print_step(Page* page, const char* name, const char* mass, double hours, const char* remarks) {
  Text line = {0};
  text_add(&line, "  ");
  text_add_column(&line, 24, name);
  text_add_column(&line, -11, mass);
  text_add_column(&line, -9,
                  hours > 0 ? pool_text(&page->pool, "%s h", with_decimals(&page->pool, hours, 1)) : "");
  text_add(&line, "   ");
  print_wrapped(text_of(&line), remarks);
  text_free(&line);
}

/* "2.2 days of 9 h", where the plan states its day. */
static const char* days_of(Page* page, double hours) {
  const Json day = json_member(page->plan, "day");
  if (!json_is_text(day)) return "";
  const char* text = json_text(&page->pool, day);
  const char* request = pool_text(&page->pool, "{\"quantity\": \"%s\", \"to\": \"h\"}", text);
  bw_answer* answer = NULL;
  double length;
  bw_convert(page->context, request, strlen(request), &answer);
  bw_answer_number(page->context, answer, "", &length);
  bw_answer_destroy(&answer);
  if (!(hours > length)) return "";
  return pool_text(&page->pool, "%s days of %s, one step after another",
                   with_decimals(&page->pool, hours / length, 1), text);
}

void print_work(Page* page) {
  const size_t count = ask_count(page, "%s/work", page->best->at);
  double hours = 0;
  if (count == 0) return;
  print_line("");
  print_line("Today's work");
  for (size_t i = 0; i < count; ++i) {
    const char* at = pool_text(&page->pool, "%s/work/%zu", page->best->at, i);
    const double its = ask_number(page, "%s/hours", at);
    print_step(page, ask_text(page, "%s/at", at), mass_text(&page->pool, ask_number(page, "%s/feed", at)),
               its, remarks_of(page, at));
    hours += its;
  }
  if (count > 1 && hours > 0) print_step(page, "in all", "", hours, days_of(page, hours));
}
