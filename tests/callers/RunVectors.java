import buttonworth.Buttonworth;
import buttonworth.ButtonworthException;
import buttonworth.Json;
import com.google.gson.GsonBuilder;
import com.google.gson.ToNumberPolicy;
import java.io.IOException;
import java.math.BigDecimal;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Objects;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/** Runs every vector through the Java package: java -cp buttonworth.jar:gson.jar RunVectors.java core.json [told.txt] */
final class RunVectors {
  private static final Pattern NUMBER = Pattern.compile("(-?\\d+(?:\\.\\d+)?)( \\S+)?");
  private static final Object NOWHERE = new Object();

  private final List<String> told = new ArrayList<>();
  private int passed;
  private int failed;

  @SuppressWarnings("unchecked")
  private static Map<String, Object> map(Object value) {
    return (Map<String, Object>) value;
  }

  private static List<?> list(Object value) {
    return value == null ? List.of() : (List<?>) value;
  }

  /** What stands at a JSON pointer, or NOWHERE. */
  private static Object standsAt(Object answer, String pointer) {
    int slash = pointer.lastIndexOf('/');
    if (slash < 0) return answer;
    Object holder = Json.at(answer, pointer.substring(0, slash));
    String name = pointer.substring(slash + 1).replace("~1", "/").replace("~0", "~");
    if (holder instanceof Map) return map(holder).containsKey(name) ? map(holder).get(name) : NOWHERE;
    if (!(holder instanceof List) || !name.matches("\\d+")) return NOWHERE;
    int index = Integer.parseInt(name);
    return index < list(holder).size() ? list(holder).get(index) : NOWHERE;
  }

  private static boolean says(String text, Object words) {
    for (Object word : list(words)) {
      if (!text.toLowerCase(Locale.ROOT).contains(word.toString().toLowerCase(Locale.ROOT))) return false;
    }
    return true;
  }

  private static boolean holds(Object found, Object expected, BigDecimal tolerance, BigDecimal relative) {
    if (expected instanceof Map) {
      Object exists = map(expected).get("exists");
      if (exists != null) return (found != NOWHERE) == (Boolean) exists;
      return found instanceof String && says((String) found, map(expected).get("says"));
    }
    if (!(found instanceof String) || !(expected instanceof String)) return Objects.equals(found, expected);
    Matcher one = NUMBER.matcher((String) found);
    Matcher other = NUMBER.matcher((String) expected);
    if (!one.matches() || !other.matches()) return found.equals(expected);
    BigDecimal wanted = new BigDecimal(other.group(1));
    BigDecimal room = tolerance.max(wanted.abs().multiply(relative));
    return Objects.equals(one.group(2), other.group(2))
        && new BigDecimal(one.group(1)).subtract(wanted).abs().compareTo(room) <= 0;
  }

  private static Object answer(Map<String, Object> vector, Object options) throws ButtonworthException {
    Object document = vector.containsKey("text") ? vector.get("text") : vector.get("request");
    switch ((String) vector.get("call")) {
      case "compare": return Buttonworth.compare(document, options);
      case "convert": return convert(map(document));
      case "settle": return Buttonworth.settle(document);
      case "reconcile": return Buttonworth.reconcile(document);
      case "book": return Buttonworth.book(document);
      case "allocate": return Buttonworth.allocate(document);
      case "dispute": return Buttonworth.dispute(document);
      case "metal_call": return Buttonworth.metalCall(document);
      case "bench": return Buttonworth.bench(document);
      case "formula": return formula(map(document));
      case "simulate": return Buttonworth.simulate(document, options).answer();
      case "worth": return Buttonworth.worth(document, options);
      case "break_even": return Buttonworth.breakEven(document, options);
      case "counter_offers": return Buttonworth.counterOffers(document, options);
      case "forgiving_cut": return Buttonworth.forgivingCut(document, options);
      case "sensitivity": return Buttonworth.sensitivity(document, options);
      case "map": return Buttonworth.map(document, options);
      default: throw new IllegalArgumentException("no call " + vector.get("call"));
    }
  }

  private static Object convert(Map<String, Object> request) throws ButtonworthException {
    Object factors = request.get("factors");
    return Buttonworth.convert((String) request.get("quantity"), (String) request.get("to"), map(factors));
  }

  private static Object formula(Map<String, Object> request) throws ButtonworthException {
    double[] arguments = list(request.get("arguments")).stream().mapToDouble(one -> ((Number) one).doubleValue()).toArray();
    return BigDecimal.valueOf(Buttonworth.formula((String) request.get("name"), arguments)).toPlainString();
  }

  private interface Check {
    List<String> faults() throws ButtonworthException;
  }

  /** What differs from what is expected. */
  private static List<String> checkGood(Map<String, Object> vector, Object options, String relative) throws ButtonworthException {
    Object answer = answer(vector, options);
    BigDecimal tolerance = new BigDecimal((String) vector.getOrDefault("tolerance", "0"));
    List<String> faults = new ArrayList<>();
    for (Map.Entry<String, Object> one : map(vector.get("expected")).entrySet()) {
      Object found = standsAt(answer, one.getKey());
      if (!holds(found, one.getValue(), tolerance, new BigDecimal(relative))) {
        faults.add(one.getKey() + ": " + (found == NOWHERE ? "nothing" : found) + " stands there, expected is " + one.getValue());
      }
    }
    return faults;
  }

  private static boolean isError(Map<String, Object> error, Map<String, Object> expected) {
    for (String field : List.of("class", "code", "pointer")) {
      if (expected.containsKey(field) && !expected.get(field).equals(error.get(field))) return false;
    }
    return says((String) error.get("text"), expected.get("says"));
  }

  private static ButtonworthException raised(Map<String, Object> vector) {
    try {
      answer(vector, vector.get("options"));
      return null;
    } catch (ButtonworthException error) {
      return error;
    }
  }

  private static List<String> checkBad(Map<String, Object> vector) {
    ButtonworthException error = raised(vector);
    if (error == null) return List.of("no error came");
    List<String> faults = new ArrayList<>();
    Map<String, Object> first = error.errors().get(0);
    if (!error.errorClass().equals(first.get("class")) || !error.code().equals(first.get("code"))
        || error.status() != ((Number) first.get("status")).intValue() || !error.pointer().equals(first.get("pointer"))) {
      faults.add("the exception's fields are not those of the first of the errors");
    }
    for (Object expected : vector.containsKey("errors") ? list(vector.get("errors")) : List.of(vector.get("error"))) {
      if (error.errors().stream().noneMatch(one -> isError(one, map(expected)))) {
        faults.add("not among the errors: " + expected + "; they are " + error.errors());
      }
    }
    return faults;
  }

  /** The order of routes of a map is the answer's. */
  private static List<String> checkOrder(Map<String, Object> vector) throws ButtonworthException {
    List<String> found = new ArrayList<>(map(map(answer(vector, null)).get("routes")).keySet());
    List<String> expected = new ArrayList<>(map(map(vector.get("request")).get("routes")).keySet());
    expected.remove("note");
    return found.equals(expected) ? List.of() : List.of("the routes come as " + found);
  }

  /** Whether a check finds no fault; one vector must not end the others. */
  private boolean run(String name, Check check) {
    List<String> faults;
    try {
      faults = check.faults();
    } catch (ButtonworthException | RuntimeException error) {
      faults = List.of(error.toString());
    }
    for (String fault : faults) System.out.println(name + ": " + fault);
    if (faults.isEmpty()) passed++;
    else failed++;
    return faults.isEmpty();
  }

  /** For the table of all languages: what kind of vector passed, and what an error said. */
  private void tell(Map<String, Object> vector, String kind, String text) {
    told.add(String.join("\t", (String) vector.get("call"), kind, (String) vector.get("id"), text.replaceAll("[\r\n\t]", " ")));
  }

  private void run(Map<String, Object> vector) {
    String id = (String) vector.get("id");
    Object options = vector.get("options");
    if (!vector.containsKey("expected")) {
      if (run(id, () -> checkBad(vector))) tell(vector, "bad", raised(vector).text());
      return;
    }
    if (run(id, () -> checkGood(vector, options, "0"))) tell(vector, "good", "");
    if (!vector.get("call").equals("compare")) return;
    Map<String, Object> asDouble = options == null ? new LinkedHashMap<>() : new LinkedHashMap<>(map(options));
    if (!asDouble.containsKey("routes")) run(id + " (order)", () -> checkOrder(vector));
    if (asDouble.putIfAbsent("arithmetic", "double") != null) return;
    run(id + " (double)", () -> checkGood(vector, asDouble, id.startsWith("edge-") ? "0" : "1e-9"));
  }

  public static void main(String[] arguments) throws IOException {
    Object file = new GsonBuilder().setObjectToNumberStrategy(ToNumberPolicy.LONG_OR_DOUBLE).create()
        .fromJson(Files.readString(Path.of(arguments[0])), Object.class);
    RunVectors runner = new RunVectors();
    for (Object vector : list(map(file).get("vectors"))) runner.run(map(vector));
    if (arguments.length > 1) Files.write(Path.of(arguments[1]), runner.told);
    System.out.println(runner.passed + " passed, " + runner.failed + " failed");
    System.exit(runner.failed == 0 && runner.passed > 0 ? 0 : 1);
  }
}
