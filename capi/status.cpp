#include "status.hpp"

using namespace buttonworth;

namespace buttonworth {
namespace {

constexpr StatusText statuses[] = {
    {BW_OK, "ok", "all is well"},
    {BW_USAGE_NULL, "null", "a pointer that must not be NULL is NULL"},
    {BW_USAGE_SIZE, "size", "a length, count, stride or limit is out of range"},
    {BW_USAGE_BUFFER, "buffer", "the buffer is too small; the size needed is given"},
    {BW_USAGE_POINTER, "pointer", "nothing stands at that JSON pointer"},
    {BW_USAGE_TYPE, "kind", "what stands at that JSON pointer is of another kind"},
    {BW_USAGE_NAME, "no such name", "there is no limit, schema, level or formula of that name"},
    {BW_USAGE_OPTIONS, "options", "the options of the call are not as they should be"},
    {BW_USAGE_OVER, "over", "what was opened is closed, or met an error"},
    {BW_DOCUMENT_UTF8, "utf8", "the text is not UTF-8"},
    {BW_DOCUMENT_JSON, "json", "the text is not JSON"},
    {BW_DOCUMENT_LIMIT, "limit", "the document is larger, deeper or longer than allowed"},
    {BW_DOCUMENT_REPEATED, "repeated", "a name stands twice"},
    {BW_DOCUMENT_UNKNOWN_FIELD, "unknown field", "a field that the format does not have"},
    {BW_DOCUMENT_MISSING_FIELD, "missing field", "a field that the format requires is missing"},
    {BW_DOCUMENT_TYPE, "type", "a value is of the wrong kind"},
    {BW_DOCUMENT_QUANTITY, "quantity", "a text is no number with a unit"},
    {BW_DOCUMENT_UNIT, "unit", "a unit is unknown, ambiguous or of another dimension"},
    {BW_DOCUMENT_RANGE, "range", "a value is outside what its field allows"},
    {BW_DOCUMENT_NAME, "name", "a reference to something that is not there"},
    {BW_DOCUMENT_CONFLICT, "conflict", "fields exclude or need each other"},
    {BW_DOCUMENT_FORMAT, "format", "a document of another format or version"},
    {BW_DOMAIN_ASSAYS, "assays", "assays add up to more than 100 %"},
    {BW_DOMAIN_CURVE, "curve", "a curve asks for more metal than the mass pulled"},
    {BW_DOMAIN_SPLIT, "split", "a split asks for more than there is"},
    {BW_DOMAIN_MELT, "melt", "a melt gives a bar with no metal, or more out than in"},
    {BW_DOMAIN_MERCURY, "mercury", "mercury is not driven off in a furnace"},
    {BW_DOMAIN_BALANCE, "balance", "figures that cannot be balanced, or too few of them"},
    {BW_DOMAIN_FLUX, "flux", "a charge that cannot be fluxed as asked"},
    {BW_DOMAIN_FIT, "fit", "points that no curve of that form fits"},
    {BW_NO_SOLUTION_GRADE, "grade", "the curve never reaches that grade"},
    {BW_NO_SOLUTION_RECOVERY, "recovery", "the curve never reaches that recovery"},
    {BW_CANCELLED, "cancelled", "the call was cancelled"},
    {BW_BUSY, "busy", "another thread is using this context"},
    {BW_MEMORY, "memory", "there is not enough memory"},
    {BW_INTERNAL, "internal", "a fault of the library"},
};

}  // namespace

const StatusText* find_status(bw_status status) noexcept {
  for (const StatusText& one : statuses)
    if (one.status == status) return &one;
  return nullptr;
}

const char* status_class(bw_status status) noexcept {
  constexpr const char* classes[] = {"ok",        "usage", "document", "domain",  "no solution",
                                     "cancelled", "busy",  "memory",   "internal"};
  return find_status(status) != nullptr ? classes[status / 100] : "unknown";
}

}  // namespace buttonworth

const char* bw_status_name(bw_status status) noexcept {
  const StatusText* found = find_status(status);
  return found != nullptr ? found->name : "unknown";
}

const char* bw_status_class(bw_status status) noexcept { return status_class(status); }

const char* bw_status_text(bw_status status) noexcept {
  const StatusText* found = find_status(status);
  return found != nullptr ? found->text : "this number is no status of this library";
}

const char* bw_version() noexcept { return BUTTONWORTH_VERSION; }

int32_t bw_abi_version() noexcept { return BUTTONWORTH_ABI_VERSION; }
