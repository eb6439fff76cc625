import buttonworth.Buttonworth;
import buttonworth.ButtonworthException;
import buttonworth.BusyException;
import buttonworth.CancelledException;
import buttonworth.Context;
import buttonworth.DocumentException;
import buttonworth.DomainException;
import buttonworth.Json;
import buttonworth.Month;
import buttonworth.Plan;
import buttonworth.Simulation;
import buttonworth.UsageException;
import java.io.ByteArrayOutputStream;
import java.io.File;
import java.io.IOException;
import java.io.PrintStream;
import java.lang.reflect.Method;
import java.lang.reflect.Modifier;
import java.math.BigDecimal;
import java.net.URL;
import java.net.URLClassLoader;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Collections;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.atomic.AtomicBoolean;
import java.util.concurrent.atomic.AtomicReference;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import javax.tools.ToolProvider;

/** The Java package beyond the vectors: handles, kinds of values, errors, memory, threads, the README. */
public final class TestJava {
  // 1 t x 50 g/t x 90 % x 100 USD/g = 4500 USD
  private static final String TEXT = "{\"format\":\"buttonworth-plan/1\",\"currency\":\"USD\",\"prices\":{\"Au\":\"100 USD/g\"},"
      + "\"discount\":\"0 %/a\",\"lot\":{\"wet_mass\":\"1000 kg\",\"assays\":{\"Au\":\"50 g/t\"}},\"steps\":{},"
      + "\"terms\":{\"smelter\":{\"buys\":\"concentrate\",\"pay\":{\"Au\":{\"share\":\"90 %\"}}}},"
      + "\"routes\":{\"zinc\":{\"sell\":\"smelter\"},\"as it is\":{\"sell\":\"smelter\"},\"Meg/1\":{\"keep\":true}}}";
  private static final Object[][] ROWS = {
    {"/format", "buttonworth-plan/1"}, {"/currency", "USD"}, {"/prices/Au", "100 USD/g"}, {"/discount", "0 %/a"},
    {"/lot/wet_mass", "1000 kg"}, {"/lot/assays/Au", "50 g/t"}, {"/steps", "{}"}, {"/terms/smelter/buys", "concentrate"},
    {"/terms/smelter/pay/Au/share", "90 %"}, {"/routes/zinc/sell", "smelter"}, {"", ""}, {null, null},
    {"/routes/as it is/sell", "smelter"}, {"/routes/Meg~11/keep", true},
  };
  private static final String TABLE =
      "id,buyer,arrived,wet_mass (kg),Au (g/t)\nK-1,smelter,2026-03-02,1000,50\nK-2,smelter,2026-03-09,500,40\n";

  private static String readme;

  // ---- Helpers ------------------------------------------------------------------------------------

  private interface Call {
    void run() throws Exception;
  }

  /** A map of names and values in turn, in this order. */
  private static Map<String, Object> map(Object... fields) {
    Map<String, Object> made = new LinkedHashMap<>();
    for (int i = 0; i < fields.length; i += 2) made.put((String) fields[i], fields[i + 1]);
    return made;
  }

  private static Map<String, Object> changed(String field, Object value) {
    Map<String, Object> plan = map("format", "buttonworth-plan/1", "currency", "USD", "prices", map("Au", "100 USD/g"),
        "discount", "0 %/a", "lot", map("wet_mass", "1000 kg", "assays", map("Au", "50 g/t")), "steps", map(),
        "terms", map("smelter", map("buys", "concentrate", "pay", map("Au", map("share", "90 %")))),
        "routes", map("zinc", map("sell", "smelter"), "as it is", map("sell", "smelter"), "Meg/1", map("keep", true)));
    plan.put(field, value);
    return plan;
  }

  private static final Map<String, Object> PLAN = changed("note", "");

  private static Map<String, Object> heading() {
    return map("format", "buttonworth-month/1", "currency", "USD", "from", "2026-03-01", "to", "2026-03-31", "buyers",
        map("smelter", map("terms", map("buys", "concentrate", "pay", map("Au", map())), "prices", map("Au", "100 USD/g"))));
  }

  private static BigDecimal number(Object answer, String pointer) {
    return new BigDecimal((String) Json.at(answer, pointer)).stripTrailingZeros();
  }

  private static void same(Object found, Object expected) {
    boolean equal = found instanceof BigDecimal
        ? ((BigDecimal) found).compareTo(new BigDecimal(expected.toString())) == 0 : java.util.Objects.equals(found, expected);
    if (!equal) throw new AssertionError("found " + found + ", expected " + expected);
  }

  private static <T extends ButtonworthException> T fails(Class<T> type, String code, String pointer, String says, Call call) {
    try {
      call.run();
    } catch (Exception error) {
      if (!type.isInstance(error)) throw new AssertionError("another exception", error);
      T raised = type.cast(error);
      if (code != null) same(raised.code(), code);
      if (pointer != null) same(raised.pointer(), pointer);
      if (says != null && !raised.text().contains(says)) throw new AssertionError("it says: " + raised.text());
      return raised;
    }
    throw new AssertionError("no exception came");
  }

  private static UsageException wrongKind(String says, Call call) {
    return fails(UsageException.class, "kind", null, says, call);
  }

  private static void closed(Call call) {
    same(fails(UsageException.class, "null", "", "closed", call).status(), 101);
  }

  // ---- Documents ----------------------------------------------------------------------------------

  static void everyKindOfDocumentIsTheSamePlan() throws Exception {
    List<List<Object>> lists = new ArrayList<>();
    for (Object[] row : ROWS) lists.add(Arrays.asList(row));
    for (Object document : new Object[] {TEXT, new StringBuilder(TEXT), TEXT.getBytes(StandardCharsets.UTF_8), PLAN,
                                         Arrays.asList(ROWS), lists}) {
      Map<String, Object> answer = Buttonworth.compare(document);
      same(new ArrayList<>(((Map<?, ?>) answer.get("routes")).keySet()), List.of("zinc", "as it is", "Meg/1"));
      same(number(answer, "/routes/zinc/net"), 4500);
      same(number(answer, "/routes/as it is/net"), 4500);
      same(number(answer, "/routes/Meg~11/net"), 0);
    }
  }

  static void valuesBecomeJson() throws Exception {
    same(Json.write(map("z", 1, "a", List.of(), "b", map(), "", Arrays.asList(null, true, 2.5, "\"\\\n\u0001<\u20ac\ud83d\ude00"))),
        "{\"z\":1,\"a\":[],\"b\":{},\"\":[null,true,2.5,\"\\\"\\\\\\n\\u0001<\u20ac\ud83d\ude00\"]}");
    same(Json.write(new Object[] {new int[] {1, 2}, new BigDecimal("0.10"), Long.MAX_VALUE, 1e300, 1e-7}),
        "[[1,2],0.10,9223372036854775807,1.0E300,1.0E-7]");
    same(Json.write(null), "null");
  }

  static void whatNoDocumentCanHold() throws Exception {
    for (Object value : new Object[] {Double.NaN, Double.POSITIVE_INFINITY, Float.NaN, new Object(), 'c', Thread.currentThread(),
                                      new Context(), java.time.LocalDate.of(2026, 3, 2)}) {
      Object lot = map("A/u~", Arrays.asList(1, value));
      same(wrongKind(null, () -> Buttonworth.compare(changed("lot", lot))).pointer(), "/lot/A~1u~0/1");
    }
    wrongKind("NaN stands here", () -> Buttonworth.compare(changed("lot", Double.NaN)));
    Map<Object, Object> numbered = new HashMap<>();
    numbered.put(5, 1);
    wrongKind("names", () -> Buttonworth.compare(changed("lot", numbered)));
    Map<String, Object> circle = map();
    circle.put("again", circle);
    wrongKind("itself", () -> Buttonworth.compare(circle));
    wrongKind("surrogate", () -> Buttonworth.compare(changed("lot", "\ud800")));
    wrongKind("surrogate", () -> Buttonworth.compare("\ud800"));
    fails(DocumentException.class, "utf8", null, null, () -> Buttonworth.compare(new byte[] {'{', '"', (byte) 0xff, '"', ':', '1', '}'}));
  }

  static void rows() {
    for (Object row : new Object[] {"ab", 5, null, List.of("/a"), new Object[] {"/a", "b", "c"}, new Object[] {5, "b"},
                                    new Object[] {null, "b"}, new Object[] {"/a", Double.NaN}, new Object[] {"/a", new Object()}}) {
      wrongKind(null, () -> Buttonworth.compare(Collections.singletonList(row)));
    }
    fails(DocumentException.class, null, null, null, () -> Buttonworth.compare(List.of()));
  }

  static void theAnswerIsJsonTextToo() throws Exception {
    try (Context context = new Context(); Plan plan = context.plan(TEXT)) {
      same(plan.compareText(null), plan.compareText(""));
      same(plan.compare("{\"how\": false}"), plan.compare(map("how", false)));
      same(plan.text().contains("\"currency\""), true);
      same(Json.write(plan.compare()).length() > 100, true);
    }
  }

  static void textBeyondTheFirstPlane() throws Exception {
    Object routes = map("\ud83d\ude00", map("sell", "smelter"));
    same(number(Buttonworth.compare(changed("routes", routes)), "/routes/\ud83d\ude00/net"), 4500);
    fails(UsageException.class, "pointer", "/\ud83d\ude00", null, () -> new Context().plan(PLAN).withValue("/\ud83d\ude00", "x"));
  }

  // ---- Wrong kinds --------------------------------------------------------------------------------

  static void whereAPlanIsWanted() {
    for (Object document : new Object[] {null, 5, true, Double.NaN, new Object()}) {
      wrongKind("a plan is text", () -> Buttonworth.compare(document));
    }
    fails(DocumentException.class, "type", "/lot", null, () -> Buttonworth.compare(changed("lot", null)));
  }

  static void otherParameters() throws Exception {
    Context context = new Context();
    Plan plan = context.plan(PLAN);
    for (Object options : new Object[] {5, true, List.of("how"), new Object()}) wrongKind("options", () -> plan.compare(options));
    same(wrongKind(null, () -> plan.compare(map("how", Double.NaN))).pointer(), "/how");
    for (Call call : new Call[] {
      () -> Buttonworth.convert(null, "g"), () -> Buttonworth.convert("1 kg", null), () -> Buttonworth.schema(null),
      () -> Buttonworth.schema("plans"), () -> Buttonworth.convert("1 kg", "g", map("g per ozt", Double.NaN)),
      () -> Buttonworth.convertArray(null, "g", "kg"), () -> Buttonworth.convertArray(new double[1], null, "kg"),
      () -> context.limit(null), () -> context.limit("deepness"), () -> context.setLimit("depth", 0),
      () -> context.setLimit(null, 5), () -> plan.withValue(null, "x"), () -> plan.withValue("/discount", new Object()),
      () -> plan.withValue("/discount", Double.NaN), () -> Buttonworth.settle(5), () -> Buttonworth.book(null), () -> Buttonworth.allocate(null),
      () -> Buttonworth.formula(null, 1), () -> Buttonworth.formula("moisture", (double[]) null),
      () -> Buttonworth.formulaArray("moisture", (double[]) null, new double[1]), () -> context.month(5),
      () -> context.month(heading()).take("deliveries", (String) null), () -> context.month(heading()).take(null, ""),
    }) {
      fails(UsageException.class, null, null, null, call);
    }
  }

  static void zeroBytesDoNotCutATextShort() throws Exception {
    Context context = new Context();
    Plan plan = context.plan(PLAN);
    for (Call call : new Call[] {
      () -> plan.withValue("/discount\0x", "0 %/a"), () -> plan.withValue("/discount", "0 %/a\0x"), () -> context.limit("depth\0x"),
      () -> Buttonworth.schema("plan\0x"), () -> context.plan(List.of(List.of("/format\0", "x"))),
      () -> Buttonworth.convertArray(new double[1], "g\0", "kg"),
    }) {
      wrongKind("zero byte", call);
    }
    fails(DocumentException.class, null, null, null, () -> Buttonworth.convert("1 g\0", "kg"));
  }

  // ---- Handles ------------------------------------------------------------------------------------

  static void closedTwiceAndUsedAgain() throws Exception {
    Context context = new Context();
    Plan plan = context.plan(PLAN);
    Plan other = context.plan(PLAN);
    plan.close();
    plan.close();
    closed(plan::compare);
    closed(plan::text);
    closed(() -> plan.withValue("/discount", "1 %/a"));
    context.close();
    context.close();
    context.cancel();
    closed(() -> context.plan(PLAN));
    closed(() -> context.plan(Arrays.asList(ROWS)));
    closed(() -> context.limit("depth"));
    closed(other::compare);
    same(other.text().contains("USD"), true); // a plan outlives its context
  }

  static void whatNothingLeadsToIsFreedAndNothingElse() throws Exception {
    Plan plan = new Context().plan(PLAN);
    for (int i = 0; i < 5; i++) {
      System.gc();
      Thread.sleep(20);
    }
    same(number(plan.compare(), "/routes/zinc/net"), 4500);
  }

  // ---- Plans with one value replaced --------------------------------------------------------------

  static void withValue() throws Exception {
    Plan plan = new Context().plan(TEXT);
    same(number(plan.withValue("/prices/Au", "110 USD/g").compare(), "/routes/zinc/net"), 4950);
    same(number(plan.compare(), "/routes/zinc/net"), 4500);
    Plan other = plan.withValue("/terms/smelter/pay", map("Au", map("share", "50 %")));
    same(number(other.compare(), "/routes/zinc/net"), 2500);
    same(number(other.withValue("/routes/zinc", map("keep", true)).compare(), "/routes/zinc/net"), 0);
    fails(UsageException.class, "pointer", "/prices/Ag", null, () -> plan.withValue("/prices/Ag", "1 USD/g"));
    fails(DocumentException.class, "unit", "/lot/wet_mass", null, () -> plan.withValue("/lot/wet_mass", "5 oz"));
    fails(DocumentException.class, null, "/lot/wet_mass", null, () -> plan.withValue("/lot/wet_mass", null));
  }

  // ---- Errors -------------------------------------------------------------------------------------

  static void fieldsAndTheWholeList() {
    Map<String, Object> wrong = changed("discount", "5 kg");
    wrong.put("lot", map("wet_mass", "5 oz", "assays", map("Au", "50 g/t")));
    DocumentException error = fails(DocumentException.class, "unit", null, null, () -> Buttonworth.compare(wrong));
    same(error.errorClass(), "document");
    same(error.status(), 209);
    same(error.errors().size(), 2);
    same(error.pointer(), error.errors().get(0).get("pointer"));
    same(error.getMessage().startsWith(error.pointer() + ": "), true);
    same(error.getMessage(), error.text());
    Object over = map("wet_mass", "1 kg", "assays", map("Au", "60 %", "Ag", "60 %"));
    fails(DomainException.class, null, null, null, () -> Buttonworth.compare(changed("lot", over)));
  }

  static void everyCallSaysWhatItThrows() {
    for (Class<?> type : List.of(Buttonworth.class, Context.class, Plan.class, Month.class)) {
      for (Method method : type.getDeclaredMethods()) {
        if (!Modifier.isPublic(method.getModifiers()) || method.isSynthetic()) continue;
        same(Arrays.asList(method.getExceptionTypes()), List.of(ButtonworthException.class));
      }
    }
    same(Exception.class.isAssignableFrom(ButtonworthException.class), true);
    same(RuntimeException.class.isAssignableFrom(ButtonworthException.class), false);
  }

  static void limits() throws Exception {
    Context context = new Context();
    same(context.limit("depth"), 64L);
    context.setLimit("depth", 3);
    same(context.limit("depth"), 3L);
    fails(DocumentException.class, "limit", null, null, () -> context.plan(PLAN));
  }

  // ---- Units and others ---------------------------------------------------------------------------

  static void convert() throws Exception {
    same(Buttonworth.convert("1 lb", "g"), "453.59237 g");
    same(Buttonworth.convert("1 ozt", "g", map("g per ozt", "31.1035")), "31.1035 g");
    fails(DocumentException.class, "unit", null, null, () -> Buttonworth.convert("1 lb", "h"));
    double[] values = {1, 2, Double.NaN, Double.NEGATIVE_INFINITY};
    double[] grams = Buttonworth.convertArray(values, "ozt", "g");
    same(Arrays.equals(grams, new double[] {31.1034768, 62.2069536, Double.NaN, Double.NEGATIVE_INFINITY}), true);
    same(values[0], 1.0);
    same(Buttonworth.convertArray(new double[0], "ozt", "g").length, 0);
    fails(DocumentException.class, "unit", null, null, () -> Buttonworth.convertArray(new double[1], "oz", "g"));
  }

  static void formulas() throws Exception {
    same(Math.abs(Buttonworth.formula("moisture", 110, 98, 10) - 0.12) < 1e-15, true);
    fails(UsageException.class, "no such name", null, null, () -> Buttonworth.formula("moistness", 1));
    fails(UsageException.class, "size", null, null, () -> Buttonworth.formula("moisture", 1));
    fails(DocumentException.class, "range", null, null, () -> Buttonworth.formula("moisture", 88, 100));
    same(Buttonworth.formulas().stream().anyMatch(one -> one.get("name").equals("moisture")), true);
    double[] wet = {100, 200};
    same(Arrays.equals(Buttonworth.formulaArray("dry_mass", wet, new double[] {0.1}), new double[] {90, 180}), true);
    same(Buttonworth.formulaArray("dry_mass", new double[0], new double[0]).length, 0);
    wrongKind("2, 3", () -> Buttonworth.formulaArray("dry_mass", wet, new double[3]));
    fails(DocumentException.class, null, null, "row 1", () -> Buttonworth.formulaArray("dry_mass", wet, new double[] {0.1, 1.2}));
  }

  static void schemaAndVersion() throws Exception {
    for (String name : List.of("plan", "comparison", "options")) same(Buttonworth.schema(name).containsKey("$schema"), true);
    same(Buttonworth.version().matches("\\d+\\.\\d+\\.\\d+"), true);
  }

  // ---- Months -------------------------------------------------------------------------------------

  static void aMonthInPieces() throws Exception {
    Map<String, Object> whole = heading();
    whole.put("deliveries", TABLE);
    try (Month month = Buttonworth.month(heading())) {
      month.take("deliveries", TABLE.substring(0, 17));
      month.take("deliveries", TABLE.substring(17).getBytes(StandardCharsets.UTF_8));
      Map<String, Object> book = month.book();
      same(number(book, "/total/proceeds"), 7000); // 50 g and 20 g at 100 USD/g
      same(book, Buttonworth.book(whole));
      fails(UsageException.class, "over", null, null, month::book);
    }
    Month month = Buttonworth.month(heading());
    fails(DocumentException.class, null, "/deliveries/1/arrived", "row 3",
        () -> month.take("deliveries", TABLE.replace("2026-03-09", "9 March")));
    month.close();
    closed(() -> month.take("deliveries", TABLE));
  }

  // ---- What would change the answer, and how sure it is -------------------------------------------

  static void documentsAndPlansAreAskedAlike() throws Exception {
    Map<String, Object> contested = changed("terms", map(
        "a", map("buys", "concentrate", "pay", map("Au", map("share", "90 %"))),
        "b", map("buys", "concentrate", "pay", map("Au", map("share", "95 %")),
            "charges", List.of(map("what", "assay", "rate", "9 USD/lot")))));
    contested.put("steps", map("shaker", map("kind", "table", "curve", map("Au", map("odds", "60")), "cut", map("pull", "5 %"))));
    contested.put("routes", map("to a", map("sell", "a"), "to b", map("sell", "b"),
        "tabled", map("step", "shaker", "concentrate", map("sell", "a"), "tailings", map("keep", true))));
    Map<String, Object> pair = map("x", map("of", "/prices/Au", "steps", 2), "y", map("of", "/lot/wet_mass", "steps", 3));
    try (Context context = new Context(); Plan plan = context.plan(contested)) {
      same(Buttonworth.breakEven(contested, map("of", "/prices/Au")), plan.breakEven(map("of", "/prices/Au")));
      same(Buttonworth.counterOffers(contested, null), plan.counterOffers(null));
      same(Buttonworth.forgivingCut(contested, map("points", 3)), plan.forgivingCut(map("points", 3)));
      same(Buttonworth.sensitivity(contested, map("of", List.of("/prices/Au"))), plan.sensitivity(map("of", List.of("/prices/Au"))));
      same(Buttonworth.map(contested, pair), plan.map(pair));
    }
    fails(UsageException.class, "options", "/of", null, () -> Buttonworth.breakEven(contested, map("of", "/prices/Ag")));
  }

  private static Map<String, Object> unsure() {
    Map<String, Object> plan = changed("prices", map("Au", map("low", "80 USD/g", "high", "120 USD/g")));
    plan.put("lot", map("wet_mass", "1000 kg", "assays", map("Au", map("value", "50 g/t", "sd", "2 g/t"))));
    return plan;
  }

  static void drawsMakeTheAnswer() throws Exception {
    Simulation simulation = Buttonworth.simulate(unsure(), map("draws", 4096, "keep", true));
    System.gc();
    double[] worth = simulation.draws("zinc");
    double[] prices = simulation.draws("/prices/Au");
    double[] grades = simulation.draws("/lot/assays/Au");
    same(worth.length, 4096);
    double sum = 0;
    for (int i = 0; i < worth.length; i++) {
      sum += worth[i];
      // USD/kg, a share, 1000 kg, 90 % paid
      same(Math.abs(prices[i] * grades[i] * 1000 * 0.9 - worth[i]) <= worth[i] * 1e-12, true);
    }
    same(Math.abs(sum / 4096 - number(simulation.answer(), "/routes/zinc/mean").doubleValue()) < 1e-5, true);
    fails(UsageException.class, "pointer", null, "no draws of this", () -> simulation.draws("/prices/Ag"));
    wrongKind(null, () -> simulation.draws(null));
    fails(UsageException.class, "pointer", null, "keep", () -> Buttonworth.simulate(unsure(), map("draws", 4096)).draws("zinc"));
    simulation.close();
    simulation.close();
    closed(() -> simulation.draws("zinc"));
  }

  static void worthOfOneMoreAssay() throws Exception {
    Map<String, Object> candidate = map("of", "/lot/assays/Au", "error", "4 %", "count", 3, "cost", "65 USD");
    Map<String, Object> answer = Buttonworth.worth(unsure(), map("draws", 4096, "candidates", List.of(candidate)));
    same(((List<?>) Json.at(answer, "/candidates/0/counts")).size(), 3);
    same(answer.containsKey("best") && answer.get("best") == null, true); // one buyer: the way is the same
    candidate.put("of", "/lot/assays/Ag");
    fails(UsageException.class, null, "/candidates/0/of", null, () -> Buttonworth.worth(unsure(), map("candidates", List.of(candidate))));
  }

  // ---- Memory -------------------------------------------------------------------------------------

  private static long residentBytes() throws IOException {
    return Long.parseLong(Files.readString(Path.of("/proc/self/statm")).split(" ")[1]) * 4096;
  }

  /** Memory that grew while work ran. Java's own heap is full-grown before: the runner's options see to that. */
  private static long growth(Call work, int times) throws Exception {
    for (int i = 0; i < times; i++) work.run();
    settle();
    long before = residentBytes();
    for (int i = 0; i < 9 * times; i++) work.run();
    settle();
    return residentBytes() - before;
  }

  /** The least of three: what leaks grows each time, what Java translates on a busy machine comes once. */
  private static long steadyGrowth(Call work, int times) throws Exception {
    long least = growth(work, times);
    for (int i = 0; i < 2 && least > 4_000_000; i++) least = Math.min(least, growth(work, times));
    return least;
  }

  private static void settle() throws InterruptedException {
    for (int i = 0; i < 5; i++) {
      System.gc();
      Thread.sleep(50);
    }
  }

  static void failingCallsLeakNothing() throws Exception {
    Context context = new Context();
    Plan plan = context.plan(PLAN);
    Plan gone = context.plan(PLAN);
    gone.close();
    String wrong = TEXT.replace("0 %/a", "5 kg");
    String longText = "y".repeat(1000);
    Call[] calls = {
      () -> context.plan(wrong), () -> context.plan("{"), () -> context.plan(List.of(List.of("/a", "b"))),
      () -> context.plan(List.of(List.of("/a", longText), List.of("/c"))), gone::compare, () -> plan.compare(map("x", 1)),
      () -> plan.withValue("/x", longText), () -> plan.withValue("/lot/wet_mass", longText), () -> Buttonworth.convert("1 x", "g"),
      () -> Buttonworth.convertArray(new double[] {1}, "x", "g"), () -> Buttonworth.schema(longText),
      () -> context.plan(map("a", Double.NaN)),
    };
    long grown = steadyGrowth(() -> {
      for (Call call : calls) fails(ButtonworthException.class, null, null, null, call);
    }, 500);
    // 54,000 calls, each with about 1 KB in hand; one in twelve that leaked would show with 4.5 MB. Java's own
    // translations take 1 to 2.
    if (grown > 4_000_000) throw new AssertionError("memory grew by " + grown + " bytes");
  }

  static void goodCallsLeakNothing() throws Exception {
    Context context = new Context();
    long grown = steadyGrowth(() -> {
      for (int i = 0; i < 50; i++) {
        context.plan(PLAN).withValue("/discount", "1 %/a").compare();
        context.plan(Arrays.asList(ROWS)).close();
      }
      System.gc(); // it does not see how large a plan is, and would let thousands wait
    }, 5);
    if (grown > 4_000_000) throw new AssertionError("memory grew by " + grown + " bytes");
  }

  // ---- Threads ------------------------------------------------------------------------------------

  private static Object manyRoutes(int count) {
    Map<String, Object> routes = map();
    for (int i = 0; i < count; i++) routes.put("route " + i, map("sell", "smelter"));
    return changed("routes", routes);
  }

  private static void together(Call... works) throws Exception {
    AtomicReference<Throwable> fault = new AtomicReference<>();
    List<Thread> threads = new ArrayList<>();
    for (Call work : works) {
      threads.add(new Thread(() -> {
        try {
          work.run();
        } catch (Throwable one) {
          fault.compareAndSet(null, one);
        }
      }));
    }
    for (Thread thread : threads) thread.start();
    for (Thread thread : threads) thread.join();
    if (fault.get() != null) throw new AssertionError(fault.get());
  }

  static void twoThreadsAtOneContext() throws Exception {
    Context context = new Context();
    Plan plan = context.plan(manyRoutes(300));
    Call compare = () -> {
      for (int i = 0; i < 60; i++) {
        try {
          same(number(plan.compare(), "/routes/route 7/net"), 4500);
        } catch (BusyException busy) {
          same(busy.status(), 601);
        }
        try {
          context.plan("{");
        } catch (BusyException busy) {
          same(busy.code(), "busy"); // an error is that of the call itself, whatever the other thread does
        } catch (DocumentException error) {
          same(error.code(), "json");
        }
      }
    };
    together(compare, compare);
  }

  static void closingWhileAnotherThreadWorks() throws Exception {
    for (int i = 0; i < 30; i++) {
      Context context = new Context();
      Plan plan = context.plan(manyRoutes(200));
      CountDownLatch started = new CountDownLatch(1);
      together(() -> {
        started.countDown();
        try {
          same(number(plan.compare(), "/routes/route 7/net"), 4500);
        } catch (UsageException error) {
          same(error.code(), "null");
        }
      }, () -> {
        started.await();
        plan.close();
        context.close();
      }, () -> {
        started.await();
        try {
          for (int k = 0; k < 100; k++) same(plan.text().startsWith("{"), true);
        } catch (UsageException error) {
          same(error.code(), "null");
        }
      });
    }
  }

  static void cancel() throws Exception {
    Context context = new Context();
    Plan plan = context.plan(manyRoutes(3000));
    AtomicBoolean done = new AtomicBoolean();
    together(() -> {
      try {
        fails(CancelledException.class, null, null, null, plan::compare);
      } finally {
        done.set(true);
      }
    }, () -> {
      while (!done.get()) context.cancel();
    });
    same(plan.withValue("/routes", map("a", map("sell", "smelter"))).compare().get("best"), "a");
  }

  // ---- The README ---------------------------------------------------------------------------------

  static void theProgramOfTheReadmePrintsWhatItSays() throws Exception {
    String text = Files.readString(Path.of(readme));
    same(text.lines().count() <= 40, true);
    Matcher block = Pattern.compile("```java\n(.*?)```", Pattern.DOTALL).matcher(text);
    same(block.find(), true);
    String program = block.group(1);
    Path folder = Files.createTempDirectory("readme");
    Path source = Files.writeString(folder.resolve("Example.java"), program);
    int compiled = ToolProvider.getSystemJavaCompiler().run(null, null, null, "-cp", System.getProperty("java.class.path"),
        "-d", folder.toString(), source.toString());
    same(compiled, 0);
    ByteArrayOutputStream printed = new ByteArrayOutputStream();
    PrintStream out = System.out;
    System.setOut(new PrintStream(printed, true, StandardCharsets.UTF_8));
    try (URLClassLoader loader = new URLClassLoader(new URL[] {folder.toUri().toURL()}, TestJava.class.getClassLoader())) {
      loader.loadClass("Example").getMethod("main", String[].class).invoke(null, (Object) new String[0]);
    } finally {
      System.setOut(out);
      for (File file : folder.toFile().listFiles()) file.delete();
      folder.toFile().delete();
    }
    List<String> expected = new ArrayList<>();
    Matcher comment = Pattern.compile("println\\(.*\\); // (.*)").matcher(program);
    while (comment.find()) expected.add(comment.group(1));
    same(expected.isEmpty(), false);
    same(Arrays.asList(printed.toString(StandardCharsets.UTF_8).split("\n")), expected);
  }

  public static void main(String[] arguments) throws Exception {
    readme = arguments[0];
    int passed = 0;
    int failed = 0;
    for (Method test : TestJava.class.getDeclaredMethods()) {
      // Tests are what other classes of this folder could call; helpers and lambdas are private.
      if (Modifier.isPrivate(test.getModifiers()) || test.isSynthetic() || test.getName().equals("main")) continue;
      try {
        test.invoke(null);
        passed++;
      } catch (java.lang.reflect.InvocationTargetException fault) {
        failed++;
        System.out.print(test.getName() + ": ");
        fault.getCause().printStackTrace(System.out);
      }
    }
    System.out.println(passed + " passed, " + failed + " failed");
    System.exit(failed == 0 && passed > 20 ? 0 : 1);
  }
}
