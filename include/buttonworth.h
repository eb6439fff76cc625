/* Buttonworth: which way of handling and selling gold concentrate leaves the most.
 *
 * The C interface. Everything is text in JSON (RFC 8259) going in and coming out; the documents
 * are described in the format's page that is installed with the library.
 *
 * How to read this header
 * -----------------------
 * Status.    Everything that can fail returns a bw_status: 0 is success. Results come through
 *            out-parameters, which are always defined: on failure a handle is NULL, a number is
 *            NaN, a size is 0 and a buffer holds an empty string.
 * Context.   A bw_context carries the limits, the logger, the progress callback and the last error.
 *            One thread at a time uses a context: a second call that comes in meanwhile gets
 *            BW_BUSY and changes nothing, not even the last error. Only bw_cancel may be called
 *            from any thread at any time. Plans and answers are immutable: any number of threads
 *            may share them, and they outlive the context they were made with.
 * Callbacks  run on the calling thread only, must return normally (no exception, no longjmp) and
 *            must not call back into the same context, except bw_cancel.
 * Strings    going in are UTF-8 with an explicit length in bytes and need no final zero, unless
 *            the parameter has no length beside it: then it ends with a zero byte. Strings going
 *            out follow one of two rules: borrowed text lives as long as the object it was asked
 *            of; or the caller gives buffer, capacity and where to put the size needed.
 * Ownership  of a handle is the caller's. Destroy takes the address of the handle, accepts NULL
 *            and a NULL handle, and sets the handle to NULL.
 * Numbers    are exact decimals in the documents. The functions that return a double round once.
 *
 * The library opens no file and no socket, writes nothing to standard output or error, reads no
 * environment variable, takes no signal and does not depend on the locale. However the calling thread
 * rounds, traps or flushes floating-point numbers, answers are the same bytes; its setting and its
 * flags are as before when a call returns, and in callbacks. Every call does with a stack of 256 KiB.
 * A child made by fork goes on with contexts, plans and answers, if no other thread was in the library
 * at that moment.
 */
#ifndef BUTTONWORTH_H
#define BUTTONWORTH_H

#include <stddef.h>
#include <stdint.h>

#if defined(BUTTONWORTH_BUILD) && defined(__GNUC__) && !defined(_WIN32)
#define BW_API __attribute__((visibility("default")))
#else
#define BW_API
#endif

#ifdef __cplusplus
extern "C" {
#define BW_NOEXCEPT noexcept
#else
#define BW_NOEXCEPT
#endif

/* ---- Status ------------------------------------------------------------------------------- */

/* What a call came to. 0 is success. The hundreds are the class: 1 usage (the program that calls
 * is wrong), 2 document (the text is wrong), 3 domain (the text asks for impossible physics),
 * 4 no solution (a target that cannot be reached), 5 cancelled, 6 busy, 7 memory, 8 internal.
 * A number never changes its meaning. */
typedef int32_t bw_status;

#define BW_OK ((bw_status)0) /* it went well */

#define BW_USAGE_NULL ((bw_status)101)    /* a pointer that must not be NULL was NULL */
#define BW_USAGE_SIZE ((bw_status)102)    /* a length, count or stride out of range */
#define BW_USAGE_BUFFER ((bw_status)103)  /* the caller's buffer is too small; the size needed is set */
#define BW_USAGE_POINTER ((bw_status)104) /* nothing stands at that JSON pointer */
#define BW_USAGE_TYPE ((bw_status)105)    /* what stands there is not of the kind asked for */
#define BW_USAGE_NAME ((bw_status)106)    /* no limit, schema, level or formula of that name */
#define BW_USAGE_OPTIONS ((bw_status)107) /* the options of a call are not as they should be */
#define BW_USAGE_OVER ((bw_status)108)    /* what was opened is closed already, or met an error */

#define BW_DOCUMENT_UTF8 ((bw_status)201)          /* the text is not UTF-8 */
#define BW_DOCUMENT_JSON ((bw_status)202)          /* the text is not JSON */
#define BW_DOCUMENT_LIMIT ((bw_status)203)         /* larger, deeper or longer than the context allows */
#define BW_DOCUMENT_REPEATED ((bw_status)204)      /* a name stands twice in one object */
#define BW_DOCUMENT_UNKNOWN_FIELD ((bw_status)205) /* a field the format does not have */
#define BW_DOCUMENT_MISSING_FIELD ((bw_status)206) /* a field the format requires */
#define BW_DOCUMENT_TYPE ((bw_status)207)          /* text where an object is wanted, and so on */
#define BW_DOCUMENT_QUANTITY ((bw_status)208)      /* not "number unit" */
#define BW_DOCUMENT_UNIT ((bw_status)209)          /* a unit unknown, ambiguous or of another dimension */
#define BW_DOCUMENT_RANGE ((bw_status)210)         /* a value outside what the field allows */
#define BW_DOCUMENT_NAME ((bw_status)211)          /* a reference to something that is not there */
#define BW_DOCUMENT_CONFLICT ((bw_status)212)      /* fields that exclude or need each other */
#define BW_DOCUMENT_FORMAT ((bw_status)213)        /* a document of another format or version */

#define BW_DOMAIN_ASSAYS ((bw_status)301)  /* assays over 100 % */
#define BW_DOMAIN_CURVE ((bw_status)302)   /* a curve asks for more metal than the mass pulled */
#define BW_DOMAIN_SPLIT ((bw_status)303)   /* a split asks for more than there is */
#define BW_DOMAIN_MELT ((bw_status)304)    /* a bar with no metal, or more out than in */
#define BW_DOMAIN_MERCURY ((bw_status)305) /* mercury sent to a furnace's fume */
#define BW_DOMAIN_BALANCE ((bw_status)306) /* figures that cannot be balanced, or too few of them */
#define BW_DOMAIN_FLUX ((bw_status)307)    /* a charge that cannot be fluxed as asked */
#define BW_DOMAIN_FIT ((bw_status)308)     /* points that no curve of that form fits */

#define BW_NO_SOLUTION_GRADE ((bw_status)401)    /* a grade the curve never reaches */
#define BW_NO_SOLUTION_RECOVERY ((bw_status)402) /* a recovery the curve never reaches */

#define BW_CANCELLED ((bw_status)501) /* bw_cancel was called */
#define BW_BUSY ((bw_status)601)      /* another thread is using this context */
#define BW_MEMORY ((bw_status)701)    /* no memory; the context is usable */
#define BW_INTERNAL ((bw_status)801)  /* a fault of the library; the text says what is known */

/* The code's name as the error list and the test vectors have it, e.g. "unit"; "ok" for 0.
 * Static text; "unknown" for a number that is no status. Since 0.1. */
BW_API const char* bw_status_name(bw_status status) BW_NOEXCEPT;

/* The class's name: "ok", "usage", "document", "domain", "no solution", "cancelled", "busy",
 * "memory", "internal"; "unknown" otherwise. Static text. Since 0.1. */
BW_API const char* bw_status_class(bw_status status) BW_NOEXCEPT;

/* One sentence on what the code means, without a context. Static text. Since 0.1. */
BW_API const char* bw_status_text(bw_status status) BW_NOEXCEPT;

/* The library's version, "major.minor.patch". Static text. Since 0.1.
 *     printf("buttonworth %s\n", bw_version()); */
BW_API const char* bw_version(void) BW_NOEXCEPT;

/* The number of this binary interface, which is the soname's: it grows when a program that was
 * built against an older header can no longer run. Since 0.1. */
BW_API int32_t bw_abi_version(void) BW_NOEXCEPT;

/* ---- Context ------------------------------------------------------------------------------ */

typedef struct bw_context bw_context; /* limits, logger, progress, last error */
typedef struct bw_plan bw_plan;       /* a plan that was read and found in order; immutable */
typedef struct bw_answer bw_answer;   /* an answer, as JSON; immutable */

/* Makes a context with the default limits, no logger and no progress callback.
 * Errors: BW_USAGE_NULL, BW_MEMORY. Since 0.1.
 *     bw_context* context = NULL;
 *     if (bw_context_create(&context) != BW_OK) return 1;
 *     ...
 *     bw_context_destroy(&context); */
BW_API bw_status bw_context_create(bw_context** out) BW_NOEXCEPT;

/* Frees the context and sets the handle to NULL; NULL and a NULL handle are accepted. No other
 * call may be under way on it. Since 0.1. */
BW_API void bw_context_destroy(bw_context** context) BW_NOEXCEPT;

/* The last error of this context in one line: where (JSON pointer), what was found, what would be
 * right. Empty after a success. Borrowed: until the next call on this context. Never NULL: a NULL
 * context gives the sentence that says so. Since 0.1. */
BW_API const char* bw_error_text(const bw_context* context) BW_NOEXCEPT;

/* The last error's status; BW_OK after a success, BW_USAGE_NULL for a NULL context. Since 0.1. */
BW_API bw_status bw_error_status(const bw_context* context) BW_NOEXCEPT;

/* All independent errors of the last call as a JSON list,
 *     [{"class": "document", "code": "unit", "status": 209, "pointer": "/lot/wet_mass", "text": "..."}]
 * "[]" after a success. Borrowed: until the next call on this context. size may be NULL. Since 0.1. */
BW_API const char* bw_error_list(const bw_context* context, size_t* size) BW_NOEXCEPT;

/* Asks the call under way on this context to stop with BW_CANCELLED. Any thread, any time, also
 * from a callback. Without a call under way it does nothing. NULL is accepted. Since 0.1. */
BW_API void bw_cancel(bw_context* context) BW_NOEXCEPT;

/* Sets one of the limits a document must keep to, or reads it back. Names and defaults:
 *     "document bytes" 16777216   "depth" 64   "list length" 20000   "errors" 100
 *     "name bytes" 1000 (of a field's or a thing's name)
 *     "digits" 40 (significant digits of a number)   "exponent" 30 (power of ten of a number)
 *     "nodes" 1000000 (values in a document)   "route steps" 64 (nodes on one path of a route)
 *     "analytes" 200 (different ones a document may name)
 * Values are 1 or more; "digits" at most 40, "exponent" at most 60, "depth" at most 512,
 * "route steps" at most 64, "analytes" at most 10000.
 * Errors: BW_USAGE_NULL, BW_USAGE_NAME, BW_USAGE_SIZE. Since 0.1. */
BW_API bw_status bw_set_limit(bw_context* context, const char* name, int64_t value) BW_NOEXCEPT;
BW_API bw_status bw_get_limit(bw_context* context, const char* name, int64_t* out) BW_NOEXCEPT;

/* A host's logger. level is 0 trace, 1 debug, 2 info, 3 warning, 4 error; text is UTF-8 of size
 * bytes, followed by a zero byte, and lives until the callback returns. */
typedef void (*bw_log_callback)(void* user, int32_t level, const char* text, size_t size);

/* Sends log records of this level and above to the callback; a NULL callback ends it.
 * Errors: BW_USAGE_NULL, BW_USAGE_NAME (no such level). Since 0.1. */
BW_API bw_status bw_set_log(bw_context* context, bw_log_callback callback, void* user,
                            int32_t level) BW_NOEXCEPT;

/* A host's progress display: done of total, total > 0. */
typedef void (*bw_progress_callback)(void* user, int64_t done, int64_t total);

/* Reports progress of long calls to the callback; a NULL callback ends it. As every call that
 * succeeds, it clears the last error: ask for that before.
 * Errors: BW_USAGE_NULL. Since 0.1. */
BW_API bw_status bw_set_progress(bw_context* context, bw_progress_callback callback,
                                 void* user) BW_NOEXCEPT;

/* ---- Plans -------------------------------------------------------------------------------- */

/* Reads a plan ("format": "buttonworth-plan/1") from JSON text of size bytes. All independent
 * errors are reported together (bw_error_list).
 * Errors: usage, document, domain (lot's assays over 100 %), memory. Since 0.1.
 *     bw_plan* plan = NULL;
 *     if (bw_plan_read(context, text, strlen(text), &plan) != BW_OK)
 *       fprintf(stderr, "%s\n", bw_error_text(context)); */
BW_API bw_status bw_plan_read(bw_context* context, const char* json, size_t size,
                              bw_plan** out) BW_NOEXCEPT;

/* Reads a plan from its spreadsheet form: count rows of a JSON pointer (RFC 6901) and a value, both
 * ending with a zero byte. A value is the text of a JSON string, except that true, false, null,
 * {} and [] are themselves. Lists are filled by number from 0; a row with an empty pointer and an
 * empty value is passed over.
 * Errors: as bw_plan_read; a pointer that is none or stands twice is a document error. Since 0.1. */
BW_API bw_status bw_plan_read_rows(bw_context* context, const char* const* pointers,
                                   const char* const* values, size_t count,
                                   bw_plan** out) BW_NOEXCEPT;

/* The document that rows of the spreadsheet form state, as JSON text in the answer, for the calls that take
 * another document than a plan. Rows as in bw_plan_read_rows.
 * Errors: usage, document (a pointer that is none or stands twice, a gap in a list). Since 0.1.
 *     bw_answer* delivery = NULL;
 *     size_t size = 0;
 *     bw_read_rows(context, pointers, values, count, &delivery);
 *     const char* text = bw_answer_text(delivery, &size);
 *     bw_settle(context, text, size, &statement); */
BW_API bw_status bw_read_rows(bw_context* context, const char* const* pointers, const char* const* values,
                              size_t count, bw_answer** out) BW_NOEXCEPT;

/* A plan like another with one value replaced: pointer names a value of the plan that is there,
 * value is what stands in its place (as in bw_plan_read_rows, or JSON text of a list or object).
 * The other plan stays as it is.
 * Errors: as bw_plan_read, BW_USAGE_POINTER. Since 0.1. */
BW_API bw_status bw_plan_with(bw_context* context, const bw_plan* plan, const char* pointer,
                              const char* value, bw_plan** out) BW_NOEXCEPT;

/* The plan's document as JSON text. Borrowed: as long as the plan. size may be NULL. NULL and a
 * size of 0 for a NULL plan. Since 0.1. */
BW_API const char* bw_plan_text(const bw_plan* plan, size_t* size) BW_NOEXCEPT;

/* Frees the plan and sets the handle to NULL; NULL and a NULL handle are accepted. Since 0.1. */
BW_API void bw_plan_destroy(bw_plan** plan) BW_NOEXCEPT;

/* ---- Comparison --------------------------------------------------------------------------- */

/* Works out every route of the plan: answer "buttonworth-comparison/1". options is JSON text or
 * NULL (size 0) for the defaults:
 *     {"how": true, "arithmetic": "decimal" | "double", "routes": [names to evaluate]}
 * A route that no buyer accepts is an answer (its "refused" says why), not an error; impossible
 * physics in one route is an error of the whole comparison and names the route.
 * Errors: usage, document (the options), domain, no solution, cancelled, memory. Since 0.1.
 *     bw_answer* answer = NULL;
 *     if (bw_compare(context, plan, NULL, 0, &answer) == BW_OK)
 *       puts(bw_answer_text(answer, NULL)); */
BW_API bw_status bw_compare(bw_context* context, const bw_plan* plan, const char* options,
                            size_t size, bw_answer** out) BW_NOEXCEPT;

/* ---- How sure it is ----------------------------------------------------------------------- */

/* Draws the plan's uncertain quantities many times and works out every route in each draw: answer
 * "buttonworth-simulation/1" with what each route leaves on average and at worst, how often it is
 * the best, what knowing more would be worth, and words for the operator (FORMAT.md section 23).
 * options is JSON text or NULL (size 0) for the defaults:
 *     {"draws": 65536, "seed": 1, "method": "sobol" | "philox", "threads": 1, "routes": [names],
 *      "keep": false, "prefer": "mean" | "worst 5 % mean" | {"mean_less": "1"},
 *      "correlate": [[pointer, pointer, "0.7"]], "same": [[pointer, pointer]],
 *      "averaged": [[pointer, fixings]]}
 * The answer depends on plan and options alone, not on threads or processor. Cuts are found once, at
 * the plan's own values. Progress counts blocks of draws; bw_cancel stops it within one of them.
 * Errors: usage (the options), document (BW_DOCUMENT_RANGE: more than half of the draws impossible),
 * domain, no solution, cancelled, memory. Since 0.1.
 *     bw_answer* answer = NULL;
 *     if (bw_simulate(context, plan, NULL, 0, &answer) == BW_OK)
 *       puts(bw_answer_text(answer, NULL)); */
BW_API bw_status bw_simulate(bw_context* context, const bw_plan* plan, const char* options,
                             size_t size, bw_answer** out) BW_NOEXCEPT;

/* What it is worth to measure an uncertain quantity of the plan once or several times more before a
 * route is chosen: answer "buttonworth-worth/1" (FORMAT.md section 24). options is wanted:
 *     {"candidates": [{"of": "/lot/assays/Au", "error": "4 %", "count": 8, "cost": "65 USD"}]}
 * and may have the fields of bw_simulate, but keep and prefer. Each candidate is looked at for
 * itself, for 1 to count measurements; the answer says how many to buy, or none.
 * Errors: as bw_simulate. Since 0.1. */
BW_API bw_status bw_worth(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                          bw_answer** out) BW_NOEXCEPT;

/* The draws of a simulation whose options had "keep": true. what is a route's name, and values are
 * what it is worth in each draw, in the plan's currency: 0 where refused, NaN where the draw was
 * left out as impossible; or what is the JSON pointer of an input, and values are its own, in kg,
 * shares of 1, days, litres, kWh, kg/L and money of the currency it is stated in per these. *size is
 * the number of draws, whether or not there is room for them: ask first with a capacity of 0. Room
 * beyond them is filled with NaN, as all of it is on failure.
 * Errors: usage (BW_USAGE_POINTER: no such draws; BW_USAGE_BUFFER: too little room). Since 0.1.
 *     size_t count = 0;
 *     bw_answer_draws(context, answer, "/prices/Au", NULL, 0, &count); */
BW_API bw_status bw_answer_draws(bw_context* context, const bw_answer* answer, const char* what,
                                 double* values, size_t capacity, size_t* size) BW_NOEXCEPT;

/* Values many lots by one plan, each with its own values of some of the plan's quantities: answer
 * "buttonworth-lot-values/1" with what all lots leave by route and each by its best, how many were left out and
 * why (FORMAT.md section 30). pointers: column_count JSON pointers (each ends with a zero byte) to quantities of
 * the plan, such as "/lot/wet_mass", "/lot/assays/Au" or "/prices/Au"; columns: as many arrays of rows numbers,
 * each in the unit in which the plan states that quantity, those of array k strides[k] numbers apart; a stride of
 * 0 is one number for all lots. Everything else is as the plan states it, cuts by grade, recovery and "best" as
 * found for the plan's own lot. options is JSON text or NULL (size 0) for the defaults:
 *     {"routes": [names], "threads": 1, "first": 0, "draws": 0, "seed": 1, "correlate": …, "same": …,
 *      "averaged": …}
 * first is the number of the first row among all lots. values: NULL, or the place for the present value of every
 * lot by every route, one lot after the other, a number for each route in the plan's order (or in that of
 * "routes"): NaN where the lot is refused on it or its row cannot be read, -infinity where the lot breaks physics.
 * capacity, in numbers, is rows times routes or more; what is beyond stays NaN, as all is on failure.
 * With draws, which must be few enough for draws times routes to stay within 32768, the plan's uncertain
 * quantities are drawn: those below /lot for each lot by itself, about the column's value where there is one; all
 * others once for all lots, the same market for every lot of a draw. values are then means over the draws and sds,
 * NULL or a place like values, standard deviations (else 0); the answer has every draw's sum over the lots, each
 * taken by the route that is the best for it on average.
 * Figures and sums depend on plan, options and the lots' numbers and values alone: lots may be valued in any
 * pieces, by any number of threads, processes or machines, and the sums of the pieces, which are exact decimals,
 * add up to the very sums of the whole. Memory does not grow with the rows. Progress counts blocks of lots;
 * bw_cancel stops it within one.
 * Errors: usage (BW_USAGE_OPTIONS: also a pointer to nothing; BW_USAGE_BUFFER), domain, no solution, cancelled,
 * memory. A row that cannot be read is no error. Since 0.1.
 *     const char* pointers[] = {"/lot/wet_mass", "/lot/assays/Au"};
 *     const double* columns[] = {kilograms, grams_per_tonne};
 *     const int64_t strides[] = {1, 1};
 *     bw_value_lots(context, plan, NULL, 0, pointers, columns, strides, 2, lots, values, NULL, lots * routes,
 *                   &answer); */
BW_API bw_status bw_value_lots(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                               const char* const* pointers, const double* const* columns,
                               const int64_t* strides, size_t column_count, size_t rows, double* values,
                               double* sds, size_t capacity, bw_answer** out) BW_NOEXCEPT;

/* ---- What would change the answer ---------------------------------------------------------- */

/* The calls of this part draw nothing: every quantity of the plan is at its mean, but for those that
 * are set. A quantity is named by the JSON pointer to where the plan states it. options is JSON text;
 * where all of them may be left out, NULL with size 0 will do. FORMAT.md, sections 25 to 29. */

/* Every value of one quantity, or of several set to one value, at which another route takes the lead,
 * ties and jumps told apart, and which route leads in each interval between:
 * answer "buttonworth-break-even/1". options, of which only "of" must stand:
 *     {"of": pointer or list of pointers, "from": "…", "to": "…", "routes": [names],
 *      "cuts": "again" | "held"}
 * Best cuts are searched again at every value looked at, or held where they are in the plan. Progress
 * counts values looked at; bw_cancel stops it between two.
 * Errors: usage (the options), domain, no solution, cancelled, memory. Since 0.1.
 *     const char* options = "{\"of\": \"/prices/Au\"}";
 *     bw_answer* answer = NULL;
 *     if (bw_break_even(context, plan, options, strlen(options), &answer) == BW_OK)
 *       puts(bw_answer_text(answer, NULL)); */
BW_API bw_status bw_break_even(bw_context* context, const bw_plan* plan, const char* options,
                               size_t size, bw_answer** out) BW_NOEXCEPT;

/* The counter-offer sheet: for each buyer whom the best route does not sell to, and each figure of his
 * terms alone, the smallest change that makes his best route win, with words for the operator:
 * answer "buttonworth-counter-offers/1". options is JSON text or NULL (size 0) for the defaults:
 *     {"terms": [names], "routes": [names], "cuts": "again" | "held"}
 * Progress counts figures; bw_cancel stops it within one.
 * Errors: usage, domain, no solution, cancelled, memory. Since 0.1.
 *     bw_answer* answer = NULL;
 *     if (bw_counter_offers(context, plan, NULL, 0, &answer) == BW_OK)
 *       puts(bw_answer_text(answer, NULL)); */
BW_API bw_status bw_counter_offers(bw_context* context, const bw_plan* plan, const char* options,
                                   size_t size, bw_answer** out) BW_NOEXCEPT;

/* How far the cut of each table of a route may be off before that costs more than a stated sum, the
 * value along the pulls for a picture, what the pull next to the cut is worth, and a bound on what
 * another pass could bring: answer "buttonworth-forgiving-cut/1". options is JSON text or NULL (size
 * 0) for the defaults:
 *     {"route": name, "costs": "500 USD", "points": 65}
 * Errors: usage (BW_USAGE_OPTIONS, also where no route with a table is taken), domain, no solution,
 * cancelled, memory. Since 0.1.
 *     bw_answer* answer = NULL;
 *     if (bw_forgiving_cut(context, plan, NULL, 0, &answer) == BW_OK)
 *       puts(bw_answer_text(answer, NULL)); */
BW_API bw_status bw_forgiving_cut(bw_context* context, const bw_plan* plan, const char* options,
                                  size_t size, bw_answer** out) BW_NOEXCEPT;

/* What each quantity of the plan does to every route and to the lead: derivatives to some twenty
 * digits, elasticities, kinks, and the swing of the lead between the low and the high of uncertain
 * ones, what matters most first: answer "buttonworth-sensitivity/1". options is JSON text or NULL
 * (size 0) for the defaults:
 *     {"routes": [names], "of": [pointers or lists of pointers], "same": [[pointer, pointer]]}
 * What is the same moves together and has one entry. Progress counts quantities; bw_cancel stops it within one.
 * Errors: usage, domain, no solution, cancelled, memory. Since 0.1.
 *     bw_answer* answer = NULL;
 *     if (bw_sensitivity(context, plan, NULL, 0, &answer) == BW_OK)
 *       puts(bw_answer_text(answer, NULL)); */
BW_API bw_status bw_sensitivity(bw_context* context, const bw_plan* plan, const char* options,
                                size_t size, bw_answer** out) BW_NOEXCEPT;

/* Which route leads over a grid of two quantities, and by how much, for a picture: answer
 * "buttonworth-map/1". options, of which "x" and "y" with their "of" must stand:
 *     {"x": {"of": pointer, "from": "…", "to": "…", "steps": 33}, "y": {…}, "routes": [names],
 *      "cuts": "again" | "held"}
 * Progress counts points of the grid; bw_cancel stops it between two.
 * Errors: usage (the options), domain, no solution, cancelled, memory. Since 0.1.
 *     const char* options =
 *         "{\"x\": {\"of\": \"/prices/Au\"}, \"y\": {\"of\": \"/lot/wet_mass\"}}";
 *     bw_answer* answer = NULL;
 *     if (bw_map(context, plan, options, strlen(options), &answer) == BW_OK)
 *       puts(bw_answer_text(answer, NULL)); */
BW_API bw_status bw_map(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                        bw_answer** out) BW_NOEXCEPT;

/* ---- Answers ------------------------------------------------------------------------------ */

/* The answer's JSON, ending with a zero byte. Borrowed: as long as the answer. size may be NULL.
 * NULL and a size of 0 for a NULL answer. Since 0.1. */
BW_API const char* bw_answer_text(const bw_answer* answer, size_t* size) BW_NOEXCEPT;

/* The number at a JSON pointer of the answer, e.g. "/routes/as it is/net"; a text "12.4 kg" gives
 * 12.4. Errors: usage (BW_USAGE_POINTER where nothing stands, BW_USAGE_TYPE where no number does,
 * null included). Since 0.1. */
BW_API bw_status bw_answer_number(bw_context* context, const bw_answer* answer, const char* pointer,
                                  double* out) BW_NOEXCEPT;

/* What stands at a JSON pointer of the answer, as text: a string without its quotes, anything else
 * as JSON. capacity counts the final zero byte, and so does *needed; buffer may be NULL when
 * capacity is 0, to ask for the size. Errors: usage. Since 0.1. */
BW_API bw_status bw_answer_string(bw_context* context, const bw_answer* answer, const char* pointer,
                                  char* buffer, size_t capacity, size_t* needed) BW_NOEXCEPT;

/* How many entries the list or object at a JSON pointer of the answer has.
 * Errors: usage (BW_USAGE_TYPE where neither stands). Since 0.1. */
BW_API bw_status bw_answer_count(bw_context* context, const bw_answer* answer, const char* pointer,
                                 size_t* out) BW_NOEXCEPT;

/* The name of an entry of the object at a JSON pointer of the answer, in the answer's order; index
 * from 0. Buffer, capacity and needed as in bw_answer_string. Errors: usage. Since 0.1.
 *     bw_answer_name(context, answer, "/routes", 0, name, sizeof name, NULL); */
BW_API bw_status bw_answer_name(bw_context* context, const bw_answer* answer, const char* pointer,
                                size_t index, char* buffer, size_t capacity,
                                size_t* needed) BW_NOEXCEPT;

/* Frees the answer and sets the handle to NULL; NULL and a NULL handle are accepted. Since 0.1. */
BW_API void bw_answer_destroy(bw_answer** answer) BW_NOEXCEPT;

/* ---- Settlement --------------------------------------------------------------------------- */

/* What a buyer owes for one delivery: the statement, in exact decimals. json: a request of format
 * buttonworth-delivery/1 (the format's section 8): terms, what was delivered, assays that seller and
 * buyer exchange, fixed prices or quotes and their period. A delivery that the terms refuse, and a
 * figure that is still open, are answers (refused, open), not errors. The answer is a
 * buttonworth-statement/1. Errors: usage, document, domain. Since 0.1.
 *     bw_answer* statement = NULL;
 *     bw_settle(context, text, strlen(text), &statement); */
BW_API bw_status bw_settle(bw_context* context, const char* json, size_t size,
                           bw_answer** out) BW_NOEXCEPT;

/* A buyer's return against what was due: the difference in proceeds split, exactly, into masses,
 * moisture, each assay, each price, each line of the account, and arithmetic. json: a request of format
 * buttonworth-return/1 (the format's section 9): a delivery, and what its buyer returned; the answer is a
 * buttonworth-reconciliation/1. Or one of format buttonworth-returns/1 (section 11): many deliveries and their
 * returns, as lists or tables; the answer, a buttonworth-reconciliations/1, tells besides how far each buyer's
 * figures lie from ours over all lots, and how likely chance makes that. Progress is reported, and bw_cancel stops
 * it. Errors: usage, document, domain, cancelled. Since 0.1. */
BW_API bw_status bw_reconcile(bw_context* context, const char* json, size_t size,
                              bw_answer** out) BW_NOEXCEPT;

/* The book of a month: deliveries to any number of buyers, each settled as bw_settle does, summed per buyer, per
 * metal and in all; what is owed by day, what was received, metal accounts, metal on hand. json: a request of
 * format buttonworth-month/1 (the format's section 10), its deliveries as a list or as the text of a table. The
 * answer is a buttonworth-book/1. All that is wrong is told together (bw_error_list). Progress is reported, and
 * bw_cancel stops it. Errors: usage, document, domain, cancelled. Since 0.1.
 *     bw_answer* book = NULL;
 *     bw_book(context, text, strlen(text), &book); */
BW_API bw_status bw_book(bw_context* context, const char* json, size_t size, bw_answer** out) BW_NOEXCEPT;

/* A month that is being read: one thread at a time uses it. */
typedef struct bw_month bw_month;

/* Opens a month whose tables come in pieces: json is the request of bw_book, usually without its deliveries.
 * What the request does hold is read at once. Errors: as bw_book. Since 0.1.
 *     bw_month* month = NULL;
 *     bw_month_open(context, heading, strlen(heading), &month);
 *     while ((size = fread(piece, 1, sizeof piece, file)) > 0)
 *       bw_month_take(context, month, "deliveries", piece, size);
 *     bw_month_close(context, month, &book);
 *     bw_month_destroy(&month); */
BW_API bw_status bw_month_open(bw_context* context, const char* json, size_t size,
                               bw_month** out) BW_NOEXCEPT;

/* Takes the next piece of a table, "deliveries" or "received", the first with its header, cut anywhere. Rows are
 * settled as they come and not kept. After an error in what a table holds, or a cancelled call, the month can only be
 * destroyed (BW_USAGE_OVER).
 * Errors: usage, document, domain, cancelled. Since 0.1. */
BW_API bw_status bw_month_take(bw_context* context, bw_month* month, const char* table, const char* csv,
                               size_t size) BW_NOEXCEPT;

/* Ends the tables and makes the book. The month is over after it. Errors: as bw_month_take. Since 0.1. */
BW_API bw_status bw_month_close(bw_context* context, bw_month* month, bw_answer** out) BW_NOEXCEPT;

/* Frees the month and sets the handle to NULL; NULL and a NULL handle are accepted. Since 0.1. */
BW_API void bw_month_destroy(bw_month** month) BW_NOEXCEPT;

/* What the seller may expect of contesting an assay, before it is exchanged or before an umpire is
 * called: the gain over accepting, its middle 90 %, the chance that it is above 0, and how much sample to
 * keep. json: a request of format buttonworth-dispute/1 (the format's section 12): a delivery, the
 * analyte, the standard uncertainties of seller, buyer and umpire (in the assay's unit or as a share of the
 * figure, above 0), what the umpire costs. Proceeds are those of bw_settle; the chances are taken evenly,
 * without random numbers: the same request gives the same bytes. The answer is a buttonworth-contest/1.
 * Errors: usage, document, domain. Since 0.1. */
BW_API bw_status bw_dispute(bw_context* context, const char* json, size_t size,
                            bw_answer** out) BW_NOEXCEPT;

/* Metal called for against metal accounted for, stage by stage and over the whole, with what the weights
 * and assays can tell apart from chance. json: a request of format buttonworth-call/1 (the format's section
 * 13): streams by mass and assays or by content, each figure as uncertain as stated, and the stages they
 * go into and come out of. The answer is a buttonworth-accounted/1, masses of metal in g.
 * Errors: usage, document. Since 0.1. */
BW_API bw_status bw_metal_call(bw_context* context, const char* json, size_t size,
                               bw_answer** out) BW_NOEXCEPT;

/* What is worked out before a plan, or beside it: sampling errors and assays by screen, the lot from a run
 * sheet, balances made to agree, a recovery curve from a table test, flux and slag of a charge, checks of a
 * bar, how long to wait. json: a request whose format says which (the format's sections 14 to 21), e.g.
 * buttonworth-charge/1; figures may be uncertain, and then the answer's are. The answer's format is that
 * section's. A lot size that is looked for tells its progress and can be cancelled.
 *     bw_bench(context, "{\"format\": \"buttonworth-screen-assay/1\", ...}", size, &answer);
 * Errors: usage, document, domain, no solution, cancelled. Since 0.1. */
BW_API bw_status bw_bench(bw_context* context, const char* json, size_t size, bw_answer** out) BW_NOEXCEPT;

/* One figure of plain numbers by a formula of the bench: two-product recovery, sampling error, moisture,
 * density, and others, as a spreadsheet's cells want them. name: one of those that bw_formulas lists;
 * arguments: count numbers in the order listed there, the last ones left out where the list says what then
 * stands for them. Grades and shares are parts of one, sizes cm, densities kg/L, masses any one unit unless
 * listed otherwise. out: the result, NaN on failure.
 *     double grades[3] = {0.008, 0.25, 0.0015}, recovery;
 *     bw_formula(context, "two_product_recovery", grades, 3, &recovery);
 * Errors: usage (no such formula, a number of arguments), document (range), domain. Since 0.1. */
BW_API bw_status bw_formula(bw_context* context, const char* name, const double* arguments, size_t count,
                            double* out) BW_NOEXCEPT;

/* The same for whole arrays: arguments_count arrays of count numbers, those of array k strides[k] numbers
 * apart; a stride of 0 is one number for all rows. out: count results, out_stride apart, not 0. A row without
 * a result gets NaN, the others are worked all the same; the error is the first such row's and says which. out
 * may be an argument's array with its stride, and must not overlap otherwise.
 * Errors: as bw_formula. Since 0.1. */
BW_API bw_status bw_formula_array(bw_context* context, const char* name, const double* const* arguments,
                                  const int64_t* strides, size_t arguments_count, size_t count, double* out,
                                  int64_t out_stride) BW_NOEXCEPT;

/* The formulas: a list of {"name", "gives", "unit", "arguments": [{"name", "what", "unit", "otherwise"}]},
 * arguments in their order, "otherwise" where one may be left out. Since 0.1. */
BW_API bw_status bw_formulas(bw_context* context, bw_answer** out) BW_NOEXCEPT;

/* ---- Units and schemas -------------------------------------------------------------------- */

/* Converts a quantity of text ("1 lb", "17.5 dwt/st") exactly to another unit of the same
 * dimension: the answer is a JSON string, "453.59237 g", with 40 significant digits at most.
 * request: {"quantity": Q, "to": UNIT, "factors": {…}}; factors as in the plan format, may be left
 * out. What comes to a power of ten that would not be read is an error (limit). Errors: usage,
 * document. Since 0.1. */
BW_API bw_status bw_convert(bw_context* context, const char* json, size_t size,
                            bw_answer** out) BW_NOEXCEPT;

/* Converts count numbers from one unit to another of the same dimension, from values[i * stride]
 * to out[i * out_stride], strides counted in doubles and not 0. values and out may be the same
 * array with the same stride, and must not overlap otherwise. NaN and infinities pass through. After
 * a failure the results are NaN, or what they were where out is values or cannot be reached.
 * Errors: usage, document (the units). Since 0.1.
 *     double grams;
 *     bw_convert_array(context, &ounces, 1, 1, "ozt", "g", &grams, 1); */
BW_API bw_status bw_convert_array(bw_context* context, const double* values, int64_t stride,
                                  size_t count, const char* from, const char* to, double* out,
                                  int64_t out_stride) BW_NOEXCEPT;

/* The JSON Schema (draft 7) of a document: "plan", "comparison", "options", "delivery",
 * "statement", "return", "reconciliation", "returns", "reconciliations", "month", "book", "dispute",
 * "contest", "call", "accounted", "simulate-options", "simulation", "lot-values-options", "lot-values",
 * "allocation", "schedule"; of the bench as its formats are named; of other calls on plans
 * "worth-options", "worth", and so on. The error of a name that is none
 * has the whole list. The same table of fields makes the reader and the schema.
 * Errors: usage. Since 0.1. */
BW_API bw_status bw_schema(bw_context* context, const char* name, bw_answer** out) BW_NOEXCEPT;

#ifdef __cplusplus
}
#endif

#undef BW_NOEXCEPT
#endif
